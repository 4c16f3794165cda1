/* Each edge of either phase interrupts, and the transition table makes sense of it; the main loop is free. */
#include "transitions.h"

#include <avr/interrupt.h>

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
    sei();
    while (!board_asked()) {
    }
    board_report();
}
