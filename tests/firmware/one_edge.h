/*
 * Counting on one edge of one phase, which many people write first: when A closes, B tells the direction.
 * Every bounce of A that is seen counts again.
 */
#ifndef ONE_EDGE_H
#define ONE_EDGE_H

#include "board.h"

/* Compare a code with the one before it, which is replaced. Returns the detents: -1, 0 or 1. */
static inline int8_t one_edge_step(uint8_t *before, uint8_t code)
{
    const bool closes = (code & (uint8_t)~*before & PHASE_A) != 0u;

    *before = code;
    if (!closes) {
        return 0;
    }
    return (code & PHASE_B) != 0u ? -1 : 1;
}

#endif
