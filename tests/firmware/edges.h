/* Reading on each edge of either phase: an interrupt, which the transition table makes sense of. */
#ifndef EDGES_H
#define EDGES_H

#include "transitions.h"

#include <avr/interrupt.h>

static uint8_t row; /* all contacts are open at power-on, which is row 0 */

ISR(INT0_vect)
{
    board_count(transitions_step(&row, board_code()));
}

ISR(INT1_vect, ISR_ALIASOF(INT0_vect));

/* Let any change of either phase interrupt, as soon as interrupts are allowed. */
static inline void edges_start(void)
{
    EICRA = (uint8_t)((1u << ISC00) | (1u << ISC10)); /* any change */
    EIMSK = (uint8_t)((1u << INT0) | (1u << INT1));
}

#endif
