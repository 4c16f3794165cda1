/*
 * The same loop, but after every 750 rounds it stands still for 200 ms, as one does that blinks a lamp by waiting.
 * What the knob does meanwhile, nobody sees.
 */
#include "one_edge.h"

#include <util/delay.h>

#define ROUNDS 750u

int main(void)
{
    uint16_t round = 0u;
    uint8_t before;

    board_start();
    before = board_code();
    while (!board_asked()) {
        board_count(one_edge_step(&before, board_code()));
        _delay_us(400);
        if (++round == ROUNDS) {
            round = 0u;
            _delay_ms(200);
        }
    }
    board_report();
}
