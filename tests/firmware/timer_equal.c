/*
 * A timer looks at the pins every millisecond; in each phase
 * a level is believed once 4 looks in a row agree on it.
 */
#include "clock.h"
#include "debounce.h"
#include "transitions.h"

#include <avr/interrupt.h>

static struct phase a, b;
static uint8_t row; /* all contacts are open at power-on, which is row 0 */

ISR(TIMER0_COMPA_vect)
{
    const uint8_t code = board_code();
    const uint8_t believed_a = equal_step(&a, (uint8_t)(code >> 1));
    const uint8_t believed_b = equal_step(&b, code & PHASE_B);

    board_count(transitions_step(&row, (uint8_t)(believed_a << 1) | believed_b));
}

int main(void)
{
    board_start();
    clock_start();
    sei();
    while (!board_asked()) {
    }
    board_report();
}
