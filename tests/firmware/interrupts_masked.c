/*
 * Each edge of either phase interrupts, but 20 ms of every 100 ms interrupts are masked, as by a driver that must not be
 * disturbed. An edge meanwhile is remembered, once for each phase.
 */
#include "transitions.h"

#include <avr/interrupt.h>

#define MASKED 5000u /* counts of 64 cycles: 20 ms */
#define ROUND 25000u /* 100 ms */

static uint8_t row; /* all contacts are open at power-on, which is row 0 */

ISR(INT0_vect)
{
    board_count(transitions_step(&row, board_code()));
}

ISR(INT1_vect, ISR_ALIASOF(INT0_vect));

int main(void)
{
    board_start();
    EICRA = (uint8_t)((1u << ISC00) | (1u << ISC10)); /* any change */
    EIMSK = (uint8_t)((1u << INT0) | (1u << INT1));
    OCR1A = ROUND - 1u;
    TCCR1B = (uint8_t)((1u << WGM12) | (1u << CS11) | (1u << CS10)); /* back to 0 after OCR1A, run */
    while (!board_asked()) {
        if (TCNT1 < MASKED) {
            cli();
        } else {
            sei();
        }
    }
    board_report();
}
