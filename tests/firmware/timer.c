/* A timer looks at the pins every millisecond, and the transition table makes sense of it; the main loop is free. */
#include "clock.h"
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
    clock_start();
    board_idle();
}
