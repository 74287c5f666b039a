; monitor.asm - the Heron-8's machine monitor
;
; What the computer does when it is switched on: it says so on the terminal and
; waits for commands, each a word and hex numbers.
;
;   LOOK first last    show memory (without `last`: eight bytes)
;   PUT first bytes..  write bytes into RAM
;   RUN address        run the program there; an RTS comes back
;   TALLY              add up the ROM and compare the sum with its stamp
;   BASIC              start BASIC
;   AGAIN              start BASIC and keep its program
;   HELP               list the commands
;
; Assembled with 64tass; assemble.sh beside this file has the command line.

        .cpu "6502"
        .enc "none"             ; texts are ASCII, as the terminal wants them
        .include "heron8.inc"

; ---- Zero page, $E0-$FF

value   = $E0                   ; 2 bytes: the hex number read last
place   = $E2                   ; 2 bytes: address of the byte in hand
last    = $E4                   ; 2 bytes: address of the last byte
count   = $E6                   ; how many digits the number had
begin   = $E7                   ; where in TYPED the command begins
text    = $E8                   ; 2 bytes: address of the text to send
sum     = $EA                   ; 2 bytes: the sum of the ROM
digit   = $EC                   ; the value of the digit in hand

; ---- The chip: code from $E000, the vectors in its last six bytes.
; There are two sections, so that nothing is stored for the empty space between
; them.

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

reset   cld                     ; an NMOS 6502 leaves D as it was
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

; ---- Find the command. The table has each word, closed by a zero, and then the
; address of its routine. X is the place in TYPED, Y the one in the table.

        stx begin
        ldy #0
try     ldx begin
        lda commands,y
        beq not_understood      ; the end of the table
-       cmp TYPED,x
        bne next
        inx
        iny
        lda commands,y
        bne -
        lda TYPED,x             ; here the typed word must end, too:
        and #$DF                ; of a blank and of the closing zero, 0 is left
        beq found
next    lda commands,y          ; to the zero,
        beq +
        iny
        bne next                ; always: the table is shorter than a page
+       iny                     ; and over it and the address
        iny
        iny
        bne try                 ; always
found   lda commands+2,y        ; RTS goes to the address on the stack plus one,
        pha                     ; so the table has each address less one
        lda commands+1,y
        pha
        rts

commands
        .null "LOOK"
        .word look-1
        .null "PUT"
        .word put-1
        .null "RUN"
        .word run-1
        .null "TALLY"
        .word tally-1
        .null "BASIC"
        .word cold-1
        .null "AGAIN"
        .word again-1
        .null "HELP"
        .word help-1
        .byte 0
        .cerror * - commands > 256, "Y can't reach the end of the table"

; ---- Say what is wrong, and wait for the next command. What is still on the
; stack is dropped there.

not_understood
        lda #<try_help
        ldy #>try_help
        bne complain            ; always: no text is in the zero page
too_long
        lda #<not_16_bits
        ldy #>not_16_bits
complain
        jsr put_text
        jmp warm

; ---- LOOK: rows of eight bytes, with the address at both ends:
;
;   8000 > 4C 06 80 4C 18 80 A9 C8 < 8007

look    jsr need_hex
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
        lda last
        cmp place
        lda last+1
        sbc place+1
        bcs row
        lda #<no_bytes
        ldy #>no_bytes
        bne complain            ; always
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
        beq row_ends            ; compared first: there is nothing after $FFFF
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

; ---- PUT. Each byte is read again: ROM and empty space don't keep it.

put     jsr need_hex
        lda value
        sta place
        lda value+1
        sta place+1
        jsr need_hex            ; at least one byte
-       lda value+1
        bne too_wide
        tay                     ; 0
        lda value
        sta (place),y
        cmp (place),y
        bne not_kept
        jsr next_place
        jsr get_hex
        bcs -
        jsr need_end
        jmp warm
too_wide
        lda #<not_8_bits
        ldy #>not_8_bits
        jmp complain
not_kept
        lda #<no_ram
        ldy #>no_ram
        jsr put_text
        jsr put_place
        jmp warm

; ---- RUN

run     jsr need_hex
        jsr need_end
        jsr +
        jmp warm                ; the program ended with an RTS
+       jmp (value)

; ---- TALLY. All 32 KiB are added up, and then the two bytes of the stamp are
; taken away again: that is simpler than to leave them out.

tally   jsr need_end
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
        bne -                   ; until page $FF is done
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
+       cmp STAMP               ; A is still the low byte
        bne changed
        lda sum+1
        cmp STAMP+1
        bne changed
        lda #<rom_good
        ldy #>rom_good
        jsr put_text
        jsr put_sum
        jmp warm
changed lda #<rom_changed
        ldy #>rom_changed
        jsr put_text
        jsr put_sum
        lda #<and_stamp
        ldy #>and_stamp
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

; ---- BASIC and AGAIN

cold    jsr need_end
        jmp BASIC_COLD
again   jsr need_end
        jmp BASIC_WARM

; ---- HELP

help    jsr need_end
        lda #<help_text
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
        bne +
        rts

; A number must follow.
need_hex
        jsr get_hex
        bcc +
        rts
+       jmp not_understood

; Read a hex number into `value`. Carry clear: there is none.
get_hex jsr skip_blanks
        lda #0
        sta value
        sta value+1
        sta count
more    lda TYPED,x
        ldy #15                 ; its value is its place in the table
-       cmp digits,y
        beq +
        dey
        bpl -
        lda count
        cmp #1                  ; carry is set from one digit up
        rts
+       sty digit
        ldy #4
-       asl value               ; make room for four bits
        rol value+1
        bcs no_room
        dey
        bne -
        lda value
        ora digit
        sta value
        inc count
        inx
        bne more                ; always
no_room jmp too_long            ; a bit is lost

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

; Send `place` as four hex digits. Changes X and Y.
put_place
        lda place+1
        jsr put_hex
        lda place
        jmp put_hex

; Send A as two hex digits, each from the table. Changes X and Y.
put_hex tay
        lsr a
        lsr a
        lsr a
        lsr a
        tax
        lda digits,x
        jsr put_char            ; keeps Y
        tya
        and #$0F
        tax
        lda digits,x
        jmp put_char

digits  .text "0123456789ABCDEF"

; Read a line into TYPED, echo it, close it with a zero. Small letters become
; capitals, other control characters are left out. Afterwards X is 0.
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
        lda $0103,x             ; the status, above X and A
        and #$10
        bne break
        pla
        tax
        pla
        jmp (IRQ_VECTOR)
break   cld
        pla                     ; X, A and the status aren't needed
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
prompt  .null RETURN, LINE_FEED, "HERON: "
try_help
        .null "NOT UNDERSTOOD, TRY HELP"
not_16_bits
        .null "NOT IN 16 BITS"
not_8_bits
        .null "NOT IN 8 BITS"
no_bytes
        .null "LAST IS BEFORE FIRST"
row_opens
        .null " > "
row_closes
        .null "< "
no_ram  .null "NO RAM AT "
stopped_at
        .null RETURN, LINE_FEED, "STOPPED AT "
rom_good
        .null "ROM GOOD, SUM "
rom_changed
        .null "ROM CHANGED, SUM "
and_stamp
        .null ", STAMP "
help_text
        .text "LOOK FIRST LAST   SHOW MEMORY", RETURN, LINE_FEED
        .text "PUT FIRST BYTES   WRITE INTO RAM", RETURN, LINE_FEED
        .text "RUN ADDRESS       RUN A PROGRAM", RETURN, LINE_FEED
        .text "TALLY             ADD UP THE ROM", RETURN, LINE_FEED
        .text "BASIC             START BASIC", RETURN, LINE_FEED
        .text "AGAIN             RETURN TO BASIC", RETURN, LINE_FEED
        .null "HELP              LIST COMMANDS"
        .cerror * - help_text > 256, "put_text sends one page"

        .send
