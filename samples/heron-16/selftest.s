| selftest.s - what the Heron-16 does when it is switched on
|
| The Heron-16 is a 68000 computer. Its ROM is a pair of 8-bit chips: the even
| one drives D8-D15 and contains the bytes at even addresses, the odd one drives
| D0-D7. This program says its name on the terminal, adds up the words of the
| ROM and compares the sum with the stamp that the recipe stored, and tries the
| RAM. A chip that has lost a bit is found before anything relies on it. Two
| chips in each other's sockets don't get as far as this: every word, the reset
| vectors too, reaches the processor with its bytes swapped.
|
| Until the RAM has passed, nothing may use it: no stack, no variables. So the
| routines are not called with JSR. The caller leaves the address to come back
| to in a6 (or a5, for the innermost) and the routine ends with a jump there.
|
| Assembled with the GNU assembler; assemble.sh has the command lines.

| ---- Memory map (24 address lines)
|
|   0x000000-0x00FFFF  ROM, two chips of 32 KiB
|   0x100000-0x10FFFF  RAM, 64 KiB
|   0xF00001, 0xF00003 terminal, on D0-D7 and so at odd addresses

        .equ    RAM,         0x100000
        .equ    RAM_END,     0x110000   | the first address after it
        .equ    TERM_OUT,    0xF00001   | write: send one character
        .equ    TERM_STATUS, 0xF00003   | read: bit 0 set, TERM_OUT is busy

| ---- Places in the ROM that the recipe fills in

        .equ    VERSION,     0xFFC0     | text mark, closed by a zero
        .equ    VERSION_MAX, 32
        .equ    STAMP,       0xFFFE     | sum of all words below, 16 bits

        .equ    RETURN,      0x0D
        .equ    LINE_FEED,   0x0A

| ---- Going to a routine and back without a stack

        .macro  visit routine
        lea     .Lback\@(%pc),%a6
        bra     \routine
.Lback\@:
        .endm

        .macro  visit_inner routine
        lea     .Lback\@(%pc),%a5
        bra     \routine
.Lback\@:
        .endm

        .macro  say text
        lea     \text(%pc),%a0
        visit   put_text
        .endm

        .text
        .global start

| ---- The vectors. After a reset the processor takes its stack pointer from
| the first and its program counter from the second.

vectors:
        .long   RAM_END                 |  0  supervisor stack, from the top down
        .long   start                   |  1
        .long   bus_error               |  2
        .long   address_error           |  3
        .long   illegal                 |  4
        .rept   256-5
        .long   unexpected              |  5 to 255
        .endr

| ---- Start

start:  move    #0x2700,%sr             | supervisor, no interrupts
        say     banner

| The version mark: it is not part of the program, and a ROM made without one
| has 0xFF there.

        lea     VERSION,%a0
        moveq   #VERSION_MAX-1,%d2
version:
        move.b  (%a0)+,%d0
        beq     version_done
        bmi     version_done
        visit_inner put_char
        dbra    %d2,version
version_done:
        say     end_of_line

| ---- Add up the ROM: every word from 0 up to the stamp, keeping 16 bits

        suba.l  %a0,%a0
        move.w  #STAMP/2-1,%d1          | DBRA counts down to -1
        moveq   #0,%d0
rom_sum:
        add.w   (%a0)+,%d0
        dbra    %d1,rom_sum
        move.w  (%a0),%d3               | a0 has come to the stamp
        move.w  %d0,%d4
        cmp.w   %d3,%d4
        bne     rom_changed

        say     rom_good
        move.w  %d4,%d0
        visit   put_word
        say     end_of_line
        bra     ram_test

rom_changed:
        say     rom_is_changed
        move.w  %d4,%d0
        visit   put_word
        say     and_stamp
        move.w  %d3,%d0
        visit   put_word
        say     end_of_line
        bra     halt                    | nothing after this could be trusted

| ---- Try the RAM: into every long word its own address, then that inverted. If
| an address line makes no difference, one place has what was written to another;
| so all is written before anything is read.

ram_test:
        moveq   #0,%d2                  | the pattern is address EOR d2
ram_pass:
        lea     RAM,%a0
        lea     RAM_END,%a1
ram_write:
        move.l  %a0,%d0
        eor.l   %d2,%d0
        move.l  %d0,(%a0)+
        cmpa.l  %a1,%a0
        bne     ram_write

        lea     RAM,%a0
ram_read:
        move.l  %a0,%d0
        eor.l   %d2,%d0
        cmp.l   (%a0),%d0
        bne     ram_bad
        addq.l  #4,%a0
        cmpa.l  %a1,%a0
        bne     ram_read

        not.l   %d2
        bne     ram_pass                | 0, then all ones, then done

        say     ram_good
        bra     halt

ram_bad:
        move.l  %a0,%d3
        say     ram_fails
        move.l  %d3,%d0
        swap    %d0
        visit   put_word
        move.w  %d3,%d0
        visit   put_word
        say     end_of_line

| From here a larger program would go on, with a stack it can rely on.

halt:   stop    #0x2700
        bra     halt                    | only an NMI ends a STOP at level 7

| ---- Exceptions. They are not expected, and may come before there is a stack:
| say which it was, and stop.

bus_error:
        say     bus_error_text
        bra     halt
address_error:
        say     address_error_text
        bra     halt
illegal:
        say     illegal_text
        bra     halt
unexpected:
        say     unexpected_text
        bra     halt

| ---- The terminal

| Send d0. Back by a5; keeps all registers.
put_char:
        btst    #0,TERM_STATUS
        bne     put_char
        move.b  %d0,TERM_OUT
        jmp     (%a5)

| Send the text at a0, up to a zero. Back by a6; uses d0, a0, a5.
put_text:
        lea     put_text(%pc),%a5       | put_char comes back here each time
        move.b  (%a0)+,%d0
        bne     put_char
        jmp     (%a6)

| Send the word in d0 as four hex digits. Back by a6; uses d0, d1, d2, a5.
put_word:
        move.w  %d0,%d1
        moveq   #4-1,%d2
        lea     next_digit(%pc),%a5
put_digit:
        rol.w   #4,%d1                  | the highest four bits come first
        moveq   #0x0F,%d0
        and.b   %d1,%d0
        move.b  digits(%pc,%d0.w),%d0
        bra     put_char
next_digit:
        dbra    %d2,put_digit
        jmp     (%a6)

digits: .ascii  "0123456789ABCDEF"

| ---- Texts

banner: .byte   RETURN, LINE_FEED
        .asciz  "HERON 16  "
end_of_line:
        .byte   RETURN, LINE_FEED, 0
rom_good:
        .asciz  "ROM GOOD, SUM "
rom_is_changed:
        .asciz  "ROM CHANGED, SUM "
and_stamp:
        .asciz  ", STAMP "
ram_good:
        .ascii  "RAM GOOD"
        .byte   RETURN, LINE_FEED, 0
ram_fails:
        .asciz  "RAM FAILS AT "
bus_error_text:
        .asciz  "STOPPED BY A BUS ERROR"
address_error_text:
        .asciz  "STOPPED BY AN ADDRESS ERROR"
illegal_text:
        .asciz  "STOPPED BY AN ILLEGAL INSTRUCTION"
unexpected_text:
        .asciz  "STOPPED BY AN EXCEPTION"
        .balign 2
