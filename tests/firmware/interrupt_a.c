/* Each edge of phase A interrupts, and its closing is counted: what people write first. */
#include "one_edge.h"

#include <avr/interrupt.h>

static uint8_t before; /* all contacts are open at power-on, which is code 0 */

ISR(INT0_vect)
{
    board_count(one_edge_step(&before, board_code()));
}

int main(void)
{
    board_start();
    EICRA = (uint8_t)(1u << ISC00); /* any change */
    EIMSK = (uint8_t)(1u << INT0);
    board_idle();
}
