; common.asm - the common block, which the recipe spreads to every bank
;
; When BANK is written, the next instruction already comes from the other bank.
; That is why this block is at the same address in all four.

        .include "kingfisher.inc"

        * = COMMON
        jmp call
        jmp say_title
        jmp sum_bank

; Calls nest: the bank of the caller is pushed after the address to return to.
call    lda BANK
        pha
        jsr select
        bne wrong
        jsr WINDOW
back    pla
        sta BANK
        rts

say_title
        lda BANK
        pha
        jsr select
        bne wrong
        lda #<TITLE
        ldy #>TITLE
        bne send                ; always

wrong   lda #<no_bank
        ldy #>no_bank
send    jsr MON_TEXT
        jmp back

; Switch to bank X. Z is set when the bank itself says that it is this one.
select  txa
        ora #SLOT_ON
        sta BANK
        cpx OWN_NUMBER
        rts

sum_bank
        lda BANK
        pha
        jsr select
        lda #0
        sta total
        sta total+1
        sta place
        tay
        lda #>WINDOW
        sta place+1
-       clc                     ; a word at a time, low byte first
        lda total
        adc (place),y
        sta total
        iny
        lda total+1
        adc (place),y
        sta total+1
        iny
        bne -
        inc place+1
        lda place+1
        cmp #>WINDOW_END
        bne -
        pla
        sta BANK
        lda total
        ora total+1
        rts

no_bank .null "WRONG BANK"

        .cerror * > WINDOW_END, "the common block is too long"
