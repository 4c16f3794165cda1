/*
 * A timer looks at the pins every millisecond, and each phase is debounced by itself before the transition table sees it.
 * STEP says how: one of the steps of debounce.h, by its name.
 */
#include "clock.h"
#include "debounce.h"
#include "transitions.h"

#include <avr/interrupt.h>

#ifndef STEP
#error "Say how to debounce: -DSTEP=lockout_step, integrator_step or equal_step"
#endif

static struct phase a, b;
static uint8_t row; /* all contacts are open at power-on, which is row 0 */

ISR(TIMER0_COMPA_vect)
{
    const uint8_t code = board_code();
    const uint8_t believed_a = STEP(&a, (uint8_t)(code >> 1));
    const uint8_t believed_b = STEP(&b, code & PHASE_B);

    board_count(transitions_step(&row, (uint8_t)(believed_a << 1) | believed_b));
}

int main(void)
{
    board_start();
    clock_start();
    board_idle();
}
