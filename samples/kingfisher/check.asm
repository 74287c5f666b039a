; check.asm - bank 3: sums all banks; if all are good, it shows the bird of bank
; 1, by a call from within a call

        .include "kingfisher.inc"

changed = $20                   ; how many banks have changed

        #header 3, "CHECK"

start   ldx #0
        stx changed
each    jsr KF_TITLE            ; keeps X, as KF_SUM does
        jsr KF_SUM
        bne not_zero
        #say is_good
        jmp +
not_zero
        inc changed
        #say is_changed
+       inx
        cpx #BANKS
        bne each
        lda changed
        bne +
        ldx #1
        jsr KF_CALL
+       rts

is_good .null " GOOD", RETURN, LINE_FEED
is_changed
        .null " CHANGED", RETURN, LINE_FEED

        .cerror * > COMMON, "the check runs into the common block"
