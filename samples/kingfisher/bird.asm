; bird.asm - bank 1: draws a kingfisher

        .include "kingfisher.inc"

        #header 1, "BIRD"

start   #say picture
        rts

picture .text "        /\/\_", RETURN, LINE_FEED
        .text "  _____/  o  \", RETURN, LINE_FEED
        .text "  -----\      \", RETURN, LINE_FEED
        .text "        \      \", RETURN, LINE_FEED
        .text "         \__/\__\", RETURN, LINE_FEED
        .null "  ========^=^====="
        .cerror * - picture > 256, "MON_TEXT sends one page"

        .cerror * > COMMON, "the bird runs into the common block"
