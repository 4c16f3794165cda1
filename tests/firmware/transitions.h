/*
 * Decoding by the transition table. The table itself is written by the test from knobmenu/knob/quadrature.py, where
 * it is explained; an entry holds the detents to send, and the row to go on with.
 */
#ifndef TRANSITIONS_H
#define TRANSITIONS_H

#include "board.h"

#include <avr/pgmspace.h>

/* The bytes of the full-period form, 4 for each row: one for each code that may be read next. */
static const uint8_t full_period[] PROGMEM = {
#include "full_period.inc"
};

#define NO_DETENTS 2 /* what bits 6 to 4 of an entry hold where no detent is sent */

/* Go on from a row by a code; the row is replaced. Returns the detents, -2 to 2. */
static inline int8_t transitions_step(uint8_t *row, uint8_t code)
{
    const uint8_t entry = pgm_read_byte(&full_period[(uint8_t)(*row << 2) | code]);

    *row = entry & 15u;
    return (int8_t)((int8_t)((entry >> 4) & 7u) - NO_DETENTS);
}

#endif
