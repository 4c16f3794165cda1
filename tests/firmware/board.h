/*
 * The board that every reading strategy here runs on: an 8-bit AVR at 16 MHz, a knob, and a line to ask for a report.
 *
 *   PD2 (INT0)  phase A, pulled up; the closed contact pulls it low
 *   PD3 (INT1)  phase B, likewise
 *   PD4         high: the trial is over, report and stop
 *   TXD         the report, one line of text
 *
 * A code is A << 1 | B, where 1 is a closed contact, as everywhere in this project.
 */
#ifndef BOARD_H
#define BOARD_H

#include <avr/interrupt.h>
#include <avr/io.h>
#include <stdbool.h>
#include <stdint.h>

#define PHASE_A 2u /* bit of phase A in a code */
#define PHASE_B 1u /* bit of phase B in a code */

/* What a strategy has counted. Interrupts write it, so it is volatile. */
struct tally {
    uint16_t up;    /* detents clockwise */
    uint16_t down;  /* detents counter-clockwise */
    uint32_t looks; /* how often the pins were read; a check on the timing that the prediction assumes */
};

extern volatile struct tally tally;

/* Switch the pull-ups and the transmitter on. */
void board_start(void);

/* Print the tally, wait until its last character has left, and stop for good. Never returns. */
void board_report(void) __attribute__((noreturn));

/* Read both phases at one moment, from one read of the port. Returns the code, 0 to 3. */
static inline uint8_t board_code(void)
{
    const uint8_t pins = PIND;
    uint8_t code = 0u;

    if ((pins & (uint8_t)(1u << PIND2)) == 0u) {
        code |= PHASE_A;
    }
    if ((pins & (uint8_t)(1u << PIND3)) == 0u) {
        code |= PHASE_B;
    }
    return code;
}

/* Returns whether the report is asked for. */
static inline bool board_asked(void)
{
    return (PIND & (uint8_t)(1u << PIND4)) != 0u;
}

/* Let interrupts do the reading, and report when it is asked for. Never returns. */
static inline void board_idle(void) __attribute__((noreturn));

static inline void board_idle(void)
{
    sei();
    while (!board_asked()) {
    }
    board_report();
}

/* Add detents, -2 to 2, to the tally, and one look. */
static inline void board_count(int8_t detents)
{
    tally.looks++;
    if (detents > 0) {
        tally.up = (uint16_t)(tally.up + (uint8_t)detents);
    } else if (detents < 0) {
        tally.down = (uint16_t)(tally.down + (uint8_t)-detents);
    }
}

#endif
