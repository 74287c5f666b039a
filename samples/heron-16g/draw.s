| draw.s - the drawing routines of the Heron-16/G, in a pair of chips

        .include "heron16g.inc"

        .text
        .global start

| ---- The jump table, four bytes each

start:  bra.w   clear
        bra.w   text

| All cells blank. Uses d1, a1.
clear:  lea     CELLS,%a1
        moveq   #COLUMNS*ROWS-1,%d1
blank:  move.b  #' ',(%a1)+
        dbra    %d1,blank
        rts

| The text at a0, up to a zero, into row d0; what does not fit is left out. Uses d0,
| d1, a0, a1.
text:   lea     CELLS,%a1
        mulu    #COLUMNS,%d0
        adda.l  %d0,%a1
        moveq   #COLUMNS-1,%d1
letter: move.b  (%a0)+,%d0
        beq     end
        move.b  %d0,(%a1)+
        dbra    %d1,letter
end:    rts
