; check.asm - bank 3: sums all banks; if all are well, the bird of bank 1 is
; shown, by a call from within a call

        .include "kingfisher.inc"

bad     = $20                   ; how many banks are bad

        #header 3, "CHECK"

start   ldx #0
        stx bad
each    jsr KF_TITLE           ; keeps X, as KF_SUM does
        jsr KF_SUM
        bne damaged
        #say is_ok
        jmp +
damaged inc bad
        #say is_bad
+       inx
        cpx #BANKS
        bne each
        lda bad
        bne +
        ldx #1
        jsr KF_CALL
+       rts

is_ok   .null " OK", RETURN, LINE_FEED
is_bad  .null " BAD", RETURN, LINE_FEED

        .cerror * > COMMON, "the check runs into the common block"
