| settings.s - what is set on this Heron-16/G: a text of up to ten letters
|
| These are the bytes of the chip itself, one after another. The processor sees them
| at every second address.

        .text
        .global start
start:  .asciz  "NO GEESE"
