/* A timer looks at the pins every millisecond, and the transition table makes sense of it; the main loop is free. */
#include "transitions.h"

#include <avr/interrupt.h>

static uint8_t row; /* all contacts are open at power-on, which is row 0 */

ISR(TIMER0_COMPA_vect)
{
    board_count(transitions_step(&row, board_code()));
}

int main(void)
{
    board_start();
    TCCR0A = (uint8_t)(1u << WGM01); /* back to 0 after OCR0A */
    OCR0A = 249u;                    /* 250 counts of 64 cycles are 1 ms */
    TIMSK0 = (uint8_t)(1u << OCIE0A);
    TCCR0B = (uint8_t)((1u << CS01) | (1u << CS00)); /* run, one count every 64 cycles */
    sei();
    while (!board_asked()) {
    }
    board_report();
}
