; monitor.asm - the Heron-8's machine monitor
;
; What the computer does when it is switched on: it says so on the terminal and
; waits for commands, each a letter and hex numbers.
;
;   E first last     examine memory (without `last`: eight bytes)
;   D first bytes..  deposit bytes into RAM
;   G address        go there; an RTS comes back
;   S                sum the ROM and compare with its stamp
;   B                start BASIC          C   continue BASIC, program kept
;   H                help
;
; Assembled with 64tass; assemble.sh beside this file has the command line.

        .cpu "6502"
        .enc "none"             ; texts are ASCII, as the terminal wants them
        .include "heron8.inc"

; ---- Zero page, $E0-$FF

value   = $E0                   ; 2 bytes: the hex number read last
place   = $E2                   ; 2 bytes: the byte in hand
last    = $E4                   ; 2 bytes: where to stop
digits  = $E6                   ; how many digits the number had
text    = $E8                   ; 2 bytes: the text being sent
sum     = $EA                   ; 2 bytes: the sum of the ROM

; ---- The chip: code from $E000, the vectors in its last six bytes.
; Two sections, so that nothing is stored for the empty space between them.

        * = MONITOR
        .dsection code
        .cerror * > VERSION, "the monitor runs into the version text"

        * = $FFFA
        .section vectors
        .word nmi, reset, irq
        .send
        .dsection vectors

        .section code

; ---- The jump table. heron8.inc promises these addresses to other programs.

        jmp reset
        jmp warm
        jmp put_char
        jmp get_char
        jmp get_line
        jmp put_text
        jmp new_line
        .cerror * != MON_CRLF + 3, "the jump table and heron8.inc disagree"

; ---- Reset

reset   cld                     ; the reset leaves D as it was on an NMOS 6502
        ldx #$FF
        txs
        lda #<nmi_default
        sta NMI_VECTOR
        lda #>nmi_default
        sta NMI_VECTOR+1
        lda #<irq_default
        sta IRQ_VECTOR
        lda #>irq_default
        sta IRQ_VECTOR+1
        lda #<banner
        ldy #>banner
        jsr put_text
        jsr put_version

; ---- The command loop. Whatever a program left on the stack is dropped here.

warm    sei                     ; the monitor itself needs no interrupts
        cld
        ldx #$FF
        txs
        lda #<prompt
        ldy #>prompt
        jsr put_text
        jsr get_line
        jsr skip_blanks
        beq warm                ; an empty line
        ldy #letters_end-letters-1
find    cmp letters,y
        beq found
        dey
        bpl find
complain
        lda #<what
        ldy #>what
        jsr put_text
        jmp warm

found   inx                     ; X now stands behind the letter
        tya
        asl a
        tay
        lda handlers+1,y        ; RTS goes to the address on the stack plus one,
        pha                     ; so the table holds each handler's address - 1
        lda handlers,y
        pha
        rts

letters .text "EDGSBCH"
letters_end
handlers
        .word examine-1, deposit-1, go-1, check_rom-1
        .word BASIC_COLD-1, BASIC_WARM-1, help-1

; ---- E: examine. Rows of eight bytes, with the address at both ends:
;
;   8000 > 4C 06 80 4C 1B 80 A9 15 < 8007

examine jsr need_hex
        lda value
        sta place
        clc
        adc #7                  ; unless told, eight bytes
        sta last
        lda value+1
        sta place+1
        adc #0
        sta last+1
        bcc +
        lda #$FF                ; eight bytes would reach past the top
        sta last
        sta last+1
+       jsr get_hex
        bcc +
        lda value
        sta last
        lda value+1
        sta last+1
+       jsr need_end
        lda last                ; the last byte must not lie before the first
        cmp place
        lda last+1
        sbc place+1
        bcc complain
row     jsr new_line
        jsr put_place
        lda #<row_opens
        ldy #>row_opens
        jsr put_text
each    ldy #0
        lda (place),y
        jsr put_hex
        lda #' '
        jsr put_char
        lda place
        cmp last
        bne +
        lda place+1
        cmp last+1
        beq row_ends            ; compared before counting on: $FFFF has no next
+       lda place
        and #7
        cmp #7
        beq row_ends
        jsr next_place
        jmp each
row_ends
        lda #<row_closes
        ldy #>row_closes
        jsr put_text
        jsr put_place
        lda place
        cmp last
        bne +
        lda place+1
        cmp last+1
        beq back
+       jsr next_place
        jmp row
back    jmp warm

; ---- D: deposit. Each byte is read back: ROM and empty space do not keep it.

deposit jsr need_hex
        lda value
        sta place
        lda value+1
        sta place+1
        jsr need_hex            ; at least one byte
-       lda value+1
        beq +
        jmp complain            ; more than a byte
+       ldy #0
        lda value
        sta (place),y
        cmp (place),y
        bne not_kept
        jsr next_place
        jsr get_hex
        bcs -
        jsr need_end
        jmp warm
not_kept
        lda #<no_ram
        ldy #>no_ram
        jsr put_text
        jsr put_place
        jmp warm

; ---- G: go

go      jsr need_hex
        jsr need_end
        jsr +
        jmp warm                ; the program ended with an RTS
+       jmp (value)

; ---- S: sum the ROM. All 32 KiB are added up, and then the two bytes of the
; stamp taken away again: that is simpler than to walk around them.

check_rom
        jsr need_end
        lda #0
        sta sum
        sta sum+1
        sta place
        tay
        lda #>BASIC
        sta place+1
-       lda (place),y
        clc
        adc sum
        sta sum
        bcc +
        inc sum+1
+       iny
        bne -
        inc place+1
        bne -                   ; until the page after $FF, which is 0
        lda sum
        sec
        sbc STAMP
        sta sum
        bcs +
        dec sum+1
        sec
+       sbc STAMP+1
        sta sum
        bcs +
        dec sum+1
+       cmp STAMP               ; A still holds the low byte
        bne rom_bad
        lda sum+1
        cmp STAMP+1
        bne rom_bad
        lda #<rom_is_ok
        ldy #>rom_is_ok
        jsr put_text
        jsr put_sum
        jmp warm
rom_bad lda #<rom_is_bad
        ldy #>rom_is_bad
        jsr put_text
        jsr put_sum
        lda #<stamped
        ldy #>stamped
        jsr put_text
        lda STAMP+1
        jsr put_hex
        lda STAMP
        jsr put_hex
        jmp warm

put_sum lda sum+1
        jsr put_hex
        lda sum
        jmp put_hex

; ---- H: help

help    lda #<help_text
        ldy #>help_text
        jsr put_text
        jmp warm

; ---- Reading what was typed. X is the place in TYPED.

; Step over blanks. A is the next character, Z is set at the end of the line.
skip_blanks
        lda TYPED,x
        cmp #' '
        bne +
        inx
        bne skip_blanks         ; always: a line is shorter than a page
+       cmp #0
        rts

; Nothing may follow.
need_end
        jsr skip_blanks
        bne not_so
        rts

; A number must follow.
need_hex
        jsr get_hex
        bcc not_so
        rts

not_so  jmp complain            ; which drops what is on the stack

; Read a hex number of up to four digits into `value`.
; Carry clear: there is none, and X stands where it stood.
get_hex jsr skip_blanks
        lda #0
        sta value
        sta value+1
        sta digits
more    lda TYPED,x
        jsr hex_digit
        bcc hex_ends
        ldy #4
-       asl value               ; make room for four bits
        rol value+1
        dey
        bne -
        ora value
        sta value
        inc digits
        inx
        bne more                ; always
hex_ends
        lda digits
        cmp #5
        bcs not_so              ; too many digits: the first ones are lost
        cmp #1                  ; carry set from one digit up
        rts

; A character to its value as a hex digit; carry clear when it is none.
hex_digit
        cmp #'0'
        bcc not_hex
        cmp #'9'+1
        bcc +
        cmp #'A'
        bcc not_hex
        cmp #'F'+1
        bcs not_hex
        adc #10-('A' & 15)      ; 'A' is $41: its low digit becomes 10
+       and #$0F
        sec
        rts
not_hex clc
        rts

next_place
        inc place
        bne +
        inc place+1
+       rts

; ---- The terminal

; Send A. Keeps all registers: BIT sees the busy bit without touching them.
put_char
        bit TERM_STATUS
        bvs put_char
        sta TERM_OUT
        rts

; Wait for a character and give it in A, as seven bits. Keeps X and Y.
get_char
        bit TERM_STATUS
        bpl get_char
        lda TERM_IN
        and #$7F
        rts

new_line
        lda #RETURN
        jsr put_char
        lda #LINE_FEED
        bne put_char            ; always; put_char returns for us

; Send the text at A (low) and Y (high), up to a zero byte; at most one page.
put_text
        sta text
        sty text+1
        ldy #0
-       lda (text),y
        beq +
        jsr put_char
        iny
        bne -
+       rts

; Send the version mark. A chip made without one has $FF there.
put_version
        jsr new_line
        ldy #0
-       lda VERSION,y
        beq +
        bmi +
        jsr put_char
        iny
        cpy #VERSION_MAX
        bne -
+       rts

; Send `place` as four hex digits.
put_place
        lda place+1
        jsr put_hex
        lda place               ; runs on into put_hex

; Send A as two hex digits. Keeps X and Y.
put_hex pha
        lsr a
        lsr a
        lsr a
        lsr a
        jsr +
        pla
        and #$0F
+       ora #'0'
        cmp #'9'+1
        bcc put_char
        adc #'A'-('9'+1)-1      ; carry is set and adds one
        bne put_char            ; always

; Read a line into TYPED, echo it, close it with a zero. Small letters become
; capitals, other control characters are passed over. Afterwards X is 0.
get_line
        ldx #0
-       jsr get_char
        cmp #RETURN
        beq line_done
        cmp #BACKSPACE
        beq rub_out
        cmp #DELETE
        beq rub_out
        cmp #' '
        bcc -
        cmp #'a'
        bcc +
        cmp #'z'+1
        bcs +
        and #$DF                ; to a capital
+       cpx #TYPED_MAX
        bcs full
        sta TYPED,x
        inx
        jsr put_char
        jmp -
full    lda #BELL
        jsr put_char
        jmp -
rub_out cpx #0
        beq -
        dex
        lda #BACKSPACE
        jsr put_char
        lda #' '
        jsr put_char
        lda #BACKSPACE
        jsr put_char
        jmp -
line_done
        lda #0
        sta TYPED,x
        tax
        jmp new_line

; ---- Interrupts

nmi     jmp (NMI_VECTOR)

; A push button is wired to NMI: it stops a program that does not end.
; The processor pushed the program counter and then the status.
nmi_default
        cld
        pla
        pla
        sta place
        pla
        sta place+1
stopped lda #<stopped_at
        ldy #>stopped_at
        jsr put_text
        jsr put_place
        jmp warm

; IRQ and BRK share a vector; bit 4 of the pushed status tells them apart.
irq     pha
        txa
        pha
        tsx
        lda $0103,x             ; above X and A lies the status
        and #$10
        bne break
        pla
        tax
        pla
        jmp (IRQ_VECTOR)
break   cld
        pla                     ; X, A and the status are of no more use
        pla
        pla
        pla
        sec
        sbc #2                  ; what was pushed is the BRK's address plus two
        sta place
        pla
        sbc #0
        sta place+1
        jmp stopped

irq_default
        rti

; ---- Texts

banner  .null RETURN, LINE_FEED, "HERON 8 MONITOR"
prompt  .null RETURN, LINE_FEED, "H8: "
what    .null "WHAT? H SHOWS THE COMMANDS"
row_opens
        .null " > "
row_closes
        .null "< "
no_ram  .null "NO RAM AT "
stopped_at
        .null RETURN, LINE_FEED, "STOPPED AT "
rom_is_ok
        .null "ROM OK "
rom_is_bad
        .null "ROM BAD, COUNTED "
stamped .null " STAMPED "
help_text
        .text "E FIRST LAST    EXAMINE", RETURN, LINE_FEED
        .text "D FIRST BYTES   DEPOSIT", RETURN, LINE_FEED
        .text "G ADDRESS       GO", RETURN, LINE_FEED
        .text "S               SUM THE ROM", RETURN, LINE_FEED
        .text "B               BASIC", RETURN, LINE_FEED
        .null "C               CONTINUE BASIC"

        .send
