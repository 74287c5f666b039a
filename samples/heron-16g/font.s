| font.s - the letters of the Heron-16/G, as the picture circuit reads them
|
| Eight bytes a letter, from the top row down, the leftmost dot in bit 7. The circuit
| reads byte 8 x code + row. A code without a letter is blank.

        .text
        .global start
start:

        .org    8*'/'
        .byte   0b00000100
        .byte   0b00000100
        .byte   0b00001000
        .byte   0b00010000
        .byte   0b00100000
        .byte   0b01000000
        .byte   0b01000000
        .byte   0b00000000

        .org    8*'1'
        .byte   0b00010000
        .byte   0b00110000
        .byte   0b00010000
        .byte   0b00010000
        .byte   0b00010000
        .byte   0b00010000
        .byte   0b00111000
        .byte   0b00000000

        .org    8*'6'
        .byte   0b00011000
        .byte   0b00100000
        .byte   0b01000000
        .byte   0b01111000
        .byte   0b01000100
        .byte   0b01000100
        .byte   0b00111000
        .byte   0b00000000

        .org    8*'E'
        .byte   0b01111100
        .byte   0b01000000
        .byte   0b01000000
        .byte   0b01111000
        .byte   0b01000000
        .byte   0b01000000
        .byte   0b01111100
        .byte   0b00000000

        .org    8*'G'
        .byte   0b00111000
        .byte   0b01000100
        .byte   0b01000000
        .byte   0b01011100
        .byte   0b01000100
        .byte   0b01000100
        .byte   0b00111000
        .byte   0b00000000

        .org    8*'H'
        .byte   0b01000100
        .byte   0b01000100
        .byte   0b01000100
        .byte   0b01111100
        .byte   0b01000100
        .byte   0b01000100
        .byte   0b01000100
        .byte   0b00000000

        .org    8*'N'
        .byte   0b01000100
        .byte   0b01100100
        .byte   0b01100100
        .byte   0b01010100
        .byte   0b01001100
        .byte   0b01001100
        .byte   0b01000100
        .byte   0b00000000

        .org    8*'O'
        .byte   0b00111000
        .byte   0b01000100
        .byte   0b01000100
        .byte   0b01000100
        .byte   0b01000100
        .byte   0b01000100
        .byte   0b00111000
        .byte   0b00000000

        .org    8*'R'
        .byte   0b01111000
        .byte   0b01000100
        .byte   0b01000100
        .byte   0b01111000
        .byte   0b01010000
        .byte   0b01001000
        .byte   0b01000100
        .byte   0b00000000

        .org    8*'S'
        .byte   0b00111100
        .byte   0b01000000
        .byte   0b01000000
        .byte   0b00111000
        .byte   0b00000100
        .byte   0b00000100
        .byte   0b01111000
        .byte   0b00000000
