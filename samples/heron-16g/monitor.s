| monitor.s - what the Heron-16/G does when it is switched on
|
| The processor takes its stack and its start from address 0, where the board shows
| the first eight bytes of this program. From there on everything runs at the
| monitor's own place. It says its name on the terminal, adds up its chip, puts
| vectors into the RAM, and has the drawing routines write two lines: its name, and
| the text in the settings.

        .include "heron16g.inc"

        .text
        .global start

        .long   RAM_END                 | supervisor stack, from the top down
        .long   start

start:  move    #0x2700,%sr             | supervisor, no interrupts
        lea     unexpected(%pc),%a1
        lea     RAM_VECTORS,%a0
        move.w  #256-2-1,%d1            | DBRA counts down to -1
vectors:
        move.l  %a1,(%a0)+
        dbra    %d1,vectors

        lea     banner(%pc),%a0
        bsr     put_text

| ---- Add up the chip: every word up to the stamp, keeping 16 bits

        lea     MONITOR,%a0
        lea     STAMP,%a1
        moveq   #0,%d4
rom_sum:
        add.w   (%a0)+,%d4
        cmpa.l  %a1,%a0
        bne     rom_sum
        lea     chip_good(%pc),%a0
        cmp.w   (%a1),%d4
        beq     say_sum
        lea     chip_changed(%pc),%a0
say_sum:
        bsr     put_text
        bsr     put_word
        lea     end_of_line(%pc),%a0
        bsr     put_text

| ---- The settings are a text at odd addresses: bring it together in the RAM

        lea     SETTINGS,%a1
        lea     setting,%a2
        moveq   #COLUMNS-1,%d1
take:   move.b  (%a1),(%a2)+
        beq     taken
        addq.l  #2,%a1
        dbra    %d1,take
        clr.b   (%a2)
taken:

| ---- The picture

        jsr     DRAW_CLEAR
        lea     name(%pc),%a0
        moveq   #0,%d0
        jsr     DRAW_TEXT
        lea     setting,%a0
        moveq   #1,%d0
        jsr     DRAW_TEXT
        move.b  #1,PICTURE
        lea     drawn(%pc),%a0
        bsr     put_text

halt:   stop    #0x2700
        bra     halt                    | only an NMI ends a STOP at level 7

unexpected:
        lea     unexpected_text(%pc),%a0
        bsr     put_text
        bra     halt

| ---- The terminal

| Send the text at a0, up to a zero. Uses d0, a0.
put_text:
        move.b  (%a0)+,%d0
        beq     put_done
        bsr     put_char
        bra     put_text
put_done:
        rts

| Send d0.
put_char:
        btst    #0,TERM_STATUS
        bne     put_char
        move.b  %d0,TERM_OUT
        rts

| Send the word in d4 as four hex digits. Uses d0, d1, d4.
put_word:
        moveq   #4-1,%d1
put_digit:
        rol.w   #4,%d4                  | the highest four bits come first
        moveq   #0x0F,%d0
        and.b   %d4,%d0
        move.b  digits(%pc,%d0.w),%d0
        bsr     put_char
        dbra    %d1,put_digit
        rts

digits: .ascii  "0123456789ABCDEF"

| ---- Texts

name:   .asciz  "HERON 16/G"
banner: .byte   RETURN, LINE_FEED
        .ascii  "HERON 16/G"
end_of_line:
        .byte   RETURN, LINE_FEED, 0
chip_good:
        .asciz  "MONITOR CHIP GOOD "
chip_changed:
        .asciz  "MONITOR CHIP CHANGED "
drawn:  .byte   'P', 'I', 'C', 'T', 'U', 'R', 'E', ' ', 'D', 'R', 'A', 'W', 'N'
        .byte   RETURN, LINE_FEED, 0
unexpected_text:
        .asciz  "STOPPED BY AN EXCEPTION"
        .balign 2

        .equ    setting,     0x000800   | in the RAM
