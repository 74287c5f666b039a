; primes.asm - bank 2: the prime numbers below 100

        .include "kingfisher.inc"

number  = $20                   ; the number in hand
divisor = $21

        #header 2, "PRIMES"

start   lda #2
        sta number
next    lda #2
        sta divisor
divide  lda divisor
        cmp number
        beq prime               ; nothing smaller divides it
        lda number
        sec
-       sbc divisor             ; carry is set each time
        beq not_prime
        bcs -
        inc divisor
        bne divide              ; always
prime   jsr put_number
not_prime
        inc number
        lda number
        cmp #100
        bne next
        rts

; Send `number`, which is below 100, and a blank.
put_number
        lda number
        ldx #'0'
-       cmp #10
        bcc +
        sbc #10                 ; carry is set
        inx
        bne -                   ; always
+       tay                     ; the ones
        txa
        cmp #'0'
        beq +                   ; no tens
        jsr MON_PUT
+       tya
        ora #'0'
        jsr MON_PUT
        lda #' '
        jmp MON_PUT

        .cerror * > COMMON, "the primes run into the common block"
