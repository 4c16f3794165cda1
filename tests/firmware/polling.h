/* Reading in the main loop, whose other work takes 400 us. */
#ifndef POLLING_H
#define POLLING_H

#include "one_edge.h"

#include <util/delay.h>

/* Start the board. Returns the code to compare the first round's with. */
static inline uint8_t polling_start(void)
{
    board_start();
    return board_code();
}

/* Look at the pins, compare their code with the one before, which is replaced, and do the other work. */
static inline void polling_round(uint8_t *before)
{
    board_count(one_edge_step(before, board_code()));
    _delay_us(400);
}

#endif
