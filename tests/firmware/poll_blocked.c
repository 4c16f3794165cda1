/*
 * The same loop, but after every 750 rounds it stands still for 200 ms, as one does that blinks a lamp by waiting.
 * What the knob does in that time, nobody sees.
 */
#include "polling.h"

#define ROUNDS 750u

int main(void)
{
    uint16_t round = 0u;
    uint8_t before = polling_start();

    while (!board_asked()) {
        polling_round(&before);
        if (++round == ROUNDS) {
            round = 0u;
            _delay_ms(200);
        }
    }
    board_report();
}
