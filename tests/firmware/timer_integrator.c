/*
 * A timer looks at the pins every millisecond; in each phase
 * an integrator believes what prevails over 4 looks.
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
    const uint8_t believed_a = integrator_step(&a, (uint8_t)(code >> 1));
    const uint8_t believed_b = integrator_step(&b, code & PHASE_B);

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
