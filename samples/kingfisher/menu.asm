; menu.asm - bank 0: shows what the other banks are called, and runs them
;
; From the monitor:
;
;   PUT 7F10 80      slot on, bank 0
;   RUN A000         the menu

        .include "kingfisher.inc"

        #header 0, "KINGFISHER"

start   jsr MON_CRLF
        #say TITLE
        ldx #1
-       jsr MON_CRLF            ; keeps X
        txa
        ora #'0'
        jsr MON_PUT             ; keeps A, X and Y
        lda #' '
        jsr MON_PUT
        jsr KF_TITLE
        inx
        cpx #BANKS
        bne -
        #say prompt
        jsr MON_LINE
        lda TYPED
        sec
        sbc #'0'
        beq leave
        cmp #BANKS              ; what is below "0" has become large
        bcs start
        tax
        jsr KF_CALL
        jmp start
leave   rts                     ; the monitor called with JSR

prompt  .text RETURN, LINE_FEED, "0 MONITOR"
        .null RETURN, LINE_FEED, "BANK: "

        .cerror * > COMMON, "the menu runs into the common block"
