; basic.asm - a small BASIC for the Heron-8
;
; Lines that begin with a number (1 to 32767) are kept, in order; a number
; alone removes its line; anything else is done at once.
;
;   PRINT item ; item , item     items are numbers or "text"; `;` sets them
;                                close, `,` with a blank; after the last item
;                                either keeps the next PRINT on the same line
;   LET v = number               v is A to Z; the word LET may be left out
;   GOTO number
;   IF number = number THEN statement or line number
;                                also <> < > <= >=
;   END   REM   RUN   LIST   NEW
;   MONITOR                      back to the monitor
;
; A number is a sum of whole numbers and variables, with + and -, from -32768 to
; 32767: 16 bits with a sign. A program that does not end is stopped with the
; NMI button; the monitor's command AGAIN comes back and keeps the program.
;
; Assembled with 64tass; assemble.sh beside this file has the command line.

        .cpu "6502"
        .enc "none"             ; texts are ASCII
        .include "heron8.inc"

; ---- Zero page

text    = $20               ; 2 bytes: the text being read; Y is the place in it
line    = $22               ; 2 bytes: the record of the line being run
                            ;          (high byte 0: a typed line, no record)
scan    = $24               ; 2 bytes: a record being looked at
top     = $26               ; 2 bytes: the zero that closes the program
from    = $28               ; 2 bytes: copying, from here
to      = $2A               ; 2 bytes: ... to here
value   = $2C               ; 2 bytes: the number at hand
left    = $2E               ; 2 bytes: the number left of + or -
first   = $30               ; 2 bytes: the number left of = < >
spare   = $32               ; 2 bytes
length  = $34               ; bytes in a record
start   = $35               ; where in the text something began
keep_y  = $36               ; Y, while a routine needs it for itself
digit   = $37               ; the digit being counted
shown   = $38               ; bit 7 set: a digit has been printed
wanted  = $39               ; the relations an IF asks for
kept    = $3A               ; 2 bytes: KEPT_MARK when a program is in memory
vars    = $40               ; 26 times 2 bytes: A to Z
vars_end = vars + 26*2

KEPT_MARK = $5AA5

; ---- The program in memory: records one after another, in order of their
; numbers, closed by a zero.
;
;   byte 0      length of the whole record, never 0
;   bytes 1, 2  line number, low byte first
;   bytes 3..   text as typed, closed by a zero

PROGRAM = FREE_RAM
HEADER  = 3

        * = BASIC
        .cerror * != BASIC_COLD, "the monitor looks for the cold start here"
        jmp cold
        .cerror * != BASIC_WARM, "the monitor looks for the warm start here"
        jmp warm

; ---- Start

; Cold start, and NEW, which is the same without the greeting.
cold    lda #<hello
        ldy #>hello
        jsr MON_TEXT
new     jsr new_program
        lda #<KEPT_MARK
        sta kept
        lda #>KEPT_MARK
        sta kept+1
        jmp prompt

; Warm start: after a reset the program is still there, after power-on it isn't.
warm    lda kept
        cmp #<KEPT_MARK
        bne cold
        lda kept+1
        cmp #>KEPT_MARK
        bne cold

prompt  jsr MON_CRLF            ; what was done may have left the line open

; ---- Ask for a line and do what it says. Whatever was on the stack is dropped.

ask     cld
        ldx #$FF
        txs
        inx                     ; 0: there is no line that an error could name
        stx line+1
        lda #<prompt_text
        ldy #>prompt_text
        jsr MON_TEXT
        jsr MON_LINE
        lda #<TYPED
        sta text
        lda #>TYPED
        sta text+1
        ldy #0
        jsr skip_blanks
        beq ask
        jsr is_digit
        bcs numbered
        jsr statement
        jmp prompt

numbered
        jsr get_number
        lda value
        ora value+1
        bne +
        jmp not_understood      ; there is no line 0
+       jsr skip_blanks
        jsr store_line
        jmp ask

; ---- Run

run     jsr need_end
        jsr clear_vars
        lda #<PROGRAM
        sta line
        lda #>PROGRAM
        sta line+1

; Run the record at `line` and all that follow.
run_line
        ldx #$FF                ; GOTO comes here from deep inside
        txs
        ldy #0
        lda (line),y
        beq run_ends
        lda line
        clc
        adc #HEADER
        sta text
        lda line+1
        adc #0
        sta text+1
        jsr statement
        ldy #0
        lda (line),y
        clc
        adc line
        sta line
        bcc run_line
        inc line+1
        bne run_line            ; always

end     jsr need_end
run_ends
        jmp prompt

; ---- Statements

; Do the statement at Y. The table has each word, closed by a zero, and then the
; address of its routine, less one because RTS adds one. The last word is empty:
; it always fits, and so a statement without a word is a LET without its word.
statement
        jsr skip_blanks
        beq nothing
        sty start
        ldx #0
try     ldy start
-       lda words,x
        beq fits
        cmp (text),y
        bne next
        inx
        iny
        bne -                   ; always
fits    lda words+2,x
        pha
        lda words+1,x
        pha
nothing rts

next    inx                     ; to the zero of this word,
        lda words,x
        bne next
        inx                     ; and over it and the address
        inx
        inx
        bne try                 ; always: the table is shorter than a page

words   .null "PRINT"
        .word print-1
        .null "LET"
        .word let-1
        .null "GOTO"
        .word goto-1
        .null "IF"
        .word if-1
        .null "END"
        .word end-1
        .null "REM"
        .word rem-1
        .null "RUN"
        .word run-1
        .null "LIST"
        .word listing-1
        .null "NEW"
        .word new_if_alone-1
        .null "MONITOR"
        .word leave-1
        .null ""
        .word let-1
        .cerror * - words > 256, "X can't reach the end of the table"

; LET
let     jsr skip_blanks
        jsr variable
        iny
        jsr skip_blanks
        cmp #'='
        bne not_understood
        iny
        txa
        pha
        jsr expression
        pla
        tax
        lda value
        sta vars,x
        lda value+1
        sta vars+1,x            ; runs on into need_end

; Nothing may follow.
need_end
        jsr skip_blanks
        bne not_understood
rem     rts                     ; what a remark says is not read

new_if_alone
        jsr need_end
        jmp new

leave   jsr need_end
        jmp MON_WARM

; GOTO
goto    jsr expression
        jsr need_end
        jsr find_line
        bcc no_line
        lda scan
        sta line
        lda scan+1
        sta line+1
        jmp run_line

; ---- Errors: say what is wrong, and where

no_line lda #<no_line_text
        ldy #>no_line_text
        bne fail                ; always: no text is in the zero page
overflow
        lda #<overflow_text
        ldy #>overflow_text
        bne fail                ; always
full    lda #<full_text
        ldy #>full_text
        bne fail                ; always
not_understood
        lda #<not_understood_text
        ldy #>not_understood_text
fail    pha                     ; PRINT may have left the line open
        jsr MON_CRLF
        pla
        jsr MON_TEXT
        lda line+1
        beq +                   ; typed, not run
        lda #<see_text
        ldy #>see_text
        jsr MON_TEXT
        ldy #1
        lda (line),y
        sta value
        iny
        lda (line),y
        sta value+1
        jsr print_number
+       jmp prompt

; PRINT
print   jsr skip_blanks
        beq print_ends
item    cmp #'"'
        beq string
        jsr expression
        jsr print_number
        jmp after_item
string  iny
        lda (text),y
        beq not_understood              ; the closing quote is missing
        cmp #'"'
        beq +
        jsr MON_PUT
        jmp string
+       iny
after_item
        jsr skip_blanks
        beq print_ends
        cmp #';'
        beq +
        cmp #','
        bne not_understood
        lda #' '
        jsr MON_PUT
+       iny
        jsr skip_blanks
        bne item
        rts                     ; the line stays open
print_ends
        jmp MON_CRLF

; IF. A relation is a sum of these, so that <= is "less or equal" by addition.
LESS    = 1
EQUAL   = 2
GREATER = 4

if      jsr expression
        lda value
        sta first
        lda value+1
        sta first+1
        lda #0
        sta wanted
        jsr skip_blanks
relation
        lda (text),y
        ldx #2
-       cmp relations,x
        beq +
        dex
        bpl -
        bmi relation_ends       ; always
+       lda wanted
        ora relation_bits,x
        sta wanted
        iny
        bne relation            ; always
relation_ends
        lda wanted
        beq if_not
        jsr expression
        jsr skip_blanks
        ldx #0
-       lda then,x              ; THEN must follow, whether it is true or not
        beq +
        cmp (text),y
        bne if_not
        iny
        inx
        bne -                   ; always
+       jsr skip_blanks
        beq if_not
        jsr compare
        and wanted
        beq +                   ; not so: the rest of the line is not done
        lda (text),y
        jsr is_digit
        bcs if_goto
        jmp statement
+       rts
if_goto jmp goto
if_not
        jmp not_understood

relations
        .text "<=>"
relation_bits
        .byte LESS, EQUAL, GREATER
then    .null "THEN"

; LESS, EQUAL or GREATER in A, for `first` against `value`, both signed.
compare lda first
        cmp value
        bne +
        lda first+1
        cmp value+1
        bne +
        lda #EQUAL
        rts
+       lda first
        cmp value
        lda first+1
        sbc value+1
        bvc +
        eor #$80                ; the difference overflowed: its sign is wrong
+       bmi +
        lda #GREATER
        rts
+       lda #LESS
        rts

; LIST
listing jsr need_end
        jsr first_record
list_line
        ldy #0
        lda (scan),y
        beq listed
        iny
        lda (scan),y
        sta value
        iny
        lda (scan),y
        sta value+1
        jsr print_number
        lda #' '
-       jsr MON_PUT
        iny
        lda (scan),y
        bne -
        jsr MON_CRLF
        jsr next_record
        jmp list_line
listed  rts

; ---- Numbers. Y is the place in the text and moves on; the result is `value`.

expression
        jsr term
-       jsr skip_blanks
        cmp #'+'
        beq plus
        cmp #'-'
        beq minus
        rts
plus    jsr right_side
        clc
        lda left
        adc value
        sta value
        lda left+1
        adc value+1
        jmp +
minus   jsr right_side
        sec
        lda left
        sbc value
        sta value
        lda left+1
        sbc value+1
+       sta value+1
        bvc -                   ; STA left V as it was
        jmp overflow

; What is right of the sign; what was left of it goes to `left`.
right_side
        iny
        lda value+1
        pha
        lda value
        pha
        jsr term
        pla
        sta left
        pla
        sta left+1
        rts

; A number, a variable, or either with a minus in front.
term    jsr skip_blanks
        cmp #'-'
        beq negative
        jsr is_digit
        bcs get_number
        jsr variable
        iny
        lda vars,x
        sta value
        lda vars+1,x
        sta value+1
        rts
negative
        iny
        jsr term
        sec
        lda #0
        sbc value
        sta value
        lda #0
        sbc value+1
        sta value+1
        bvs too_big
        rts

; Read a number without sign, up to 32767.
get_number
        lda #0
        sta value
        sta value+1
-       lda (text),y
        jsr is_digit
        bcs +
        rts
+       lda value               ; from 3277 up, ten times it is too big
        cmp #<3277
        lda value+1
        sbc #>3277
        bcs too_big
        lda value               ; times ten: times four, plus one, times two
        sta spare
        lda value+1
        sta spare+1
        jsr double
        jsr double
        lda value
        clc
        adc spare
        sta value
        lda value+1
        adc spare+1
        sta value+1
        jsr double
        lda (text),y
        and #$0F
        clc
        adc value
        sta value
        bcc +
        inc value+1
+       lda value+1
        bmi too_big
        iny
        bne -                   ; always
too_big jmp overflow

double  asl value
        rol value+1
        rts

; The variable at Y: X is its place in `vars`. The letter stays at Y.
variable
        lda (text),y
        cmp #'A'
        bcc +
        cmp #'Z'+1
        bcs +
        sbc #'A'-1              ; carry is clear and takes one more
        asl a
        tax
        rts
+       jmp not_understood

; Print `value` in decimal. Keeps Y; `value` is used up.
print_number
        sty keep_y
        lda value+1
        bpl +
        lda #'-'
        jsr MON_PUT
        sec                     ; of -32768 this makes 32768,
        lda #0                  ; which is right: from now on the number
        sbc value               ; has no sign
        sta value
        lda #0
        sbc value+1
        sta value+1
+       lda #0
        sta shown
        ldx #0
next_digit
        lda #'0'
        sta digit
-       lda value               ; how often does the power of ten go in?
        cmp tens_low,x
        lda value+1
        sbc tens_high,x
        bcc +
        sta value+1             ; carry is set: the low bytes can go on
        lda value
        sbc tens_low,x          ; takes the same borrow as CMP saw
        sta value
        inc digit
        bne -                   ; always
+       lda digit
        cpx #4
        beq +                   ; the last digit is printed even when it is 0
        cmp #'0'
        bne +
        bit shown
        bpl leading_zero
+       jsr MON_PUT
        sec
        ror shown
leading_zero
        inx
        cpx #5
        bne next_digit
        ldy keep_y
        rts

tens_low
        .byte <10000, <1000, <100, <10, <1
tens_high
        .byte >10000, >1000, >100, >10, >1

; ---- Reading text

; Step over blanks. A is the next character, Z is set at the end of the line.
skip_blanks
        lda (text),y
        cmp #' '
        bne +
        iny
        bne skip_blanks         ; always: a line is shorter than a page
+       cmp #0
        rts

; Carry set when A is a digit. Keeps A.
is_digit
        cmp #'0'
        bcc +
        cmp #'9'+1
        bcs not_digit
        sec
+       rts
not_digit
        clc
        rts

; ---- The program in memory

new_program
        jsr first_record
        sta top+1               ; A is still the high byte
        lda scan
        sta top
        ldy #0
        tya
        sta (top),y             ; runs on into clear_vars

clear_vars
        lda #0
        ldx #vars_end-vars-1
-       sta vars,x
        dex
        bpl -
        rts

first_record
        lda #<PROGRAM
        sta scan
        lda #>PROGRAM
        sta scan+1
        rts

next_record
        ldy #0
        lda (scan),y
        clc
        adc scan
        sta scan
        bcc +
        inc scan+1
+       rts

; Find the line numbered `value`. Carry set: `scan` is its record. Carry clear:
; there is none, and `scan` is where it would be.
find_line
        jsr first_record
-       ldy #0
        lda (scan),y
        beq missing
        iny
        lda (scan),y
        cmp value
        iny
        lda (scan),y
        sbc value+1
        bcs +
        jsr next_record
        jmp -
+       lda (scan),y
        cmp value+1
        bne missing
        dey
        lda (scan),y
        cmp value
        bne missing
        rts                     ; equal: carry is set
missing clc
        rts

; Keep the text at Y as line `value`, in place of what was there. No text: only
; remove. Nothing is changed unless there is room.
store_line
        sty start
        lda #0
        sta length
        lda (text),y
        beq change
-       iny
        lda (text),y
        bne -
        tya
        sec
        sbc start
        clc
        adc #HEADER+1           ; and the zero at its end
        sta length
        clc
        adc top
        tax
        lda top+1
        adc #0
        cpx #<RAM_LAST
        sbc #>RAM_LAST
        bcc change
        jmp full
change  jsr find_line
        bcc +
        jsr close_gap
+       lda length
        beq stored
        jsr open_gap
        ldy #0
        lda length
        sta (scan),y
        iny
        lda value
        sta (scan),y
        iny
        lda value+1
        sta (scan),y
        lda text                ; the text, and its zero, with one Y for both
        clc
        adc start
        sta from
        lda text+1
        adc #0
        sta from+1
        lda scan
        clc
        adc #HEADER
        sta to
        lda scan+1
        adc #0
        sta to+1
        ldy #$FF
-       iny
        lda (from),y
        sta (to),y
        bne -
stored  rts

; Remove the record at `scan`: what comes after it moves down, bottom first.
close_gap
        lda scan
        sta to
        lda scan+1
        sta to+1
        ldy #0
        lda (scan),y
        clc
        adc scan
        sta from
        lda scan+1
        adc #0
        sta from+1
-       lda (from),y
        sta (to),y
        lda from
        cmp top
        bne +
        lda from+1
        cmp top+1
        beq closed
+       inc from
        bne +
        inc from+1
+       inc to
        bne -
        inc to+1
        bne -                   ; always
closed  lda to                  ; the closing zero came last
        sta top
        lda to+1
        sta top+1
        rts

; Make room for `length` bytes at `scan`: what is there moves up, top first.
open_gap
        lda top
        sta from
        clc
        adc length
        sta top
        sta to
        lda top+1
        sta from+1
        adc #0
        sta top+1
        sta to+1
        ldy #0
-       lda (from),y
        sta (to),y
        lda from
        cmp scan
        bne +
        lda from+1
        cmp scan+1
        beq stored
+       lda from
        bne +
        dec from+1
+       dec from
        lda to
        bne +
        dec to+1
+       dec to
        jmp -

; ---- Texts

hello   .null "HERON 8 BASIC"
prompt_text
        .null "LINE: "
not_understood_text
        .null "NOT UNDERSTOOD"
overflow_text
        .null "NOT IN 16 BITS"
no_line_text
        .null "NO LINE HAS THIS NUMBER"
full_text
        .null "NO ROOM LEFT"
see_text
        .null ", SEE LINE "
