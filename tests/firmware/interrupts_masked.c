/*
 * Each edge of either phase interrupts, but 20 ms of every 100 ms interrupts are masked, as by a driver that must not be
 * disturbed. An edge in that time is remembered, once for each phase.
 */
#include "edges.h"

#define MASKED 5000u /* counts of 64 cycles: 20 ms */
#define ROUND 25000u /* 100 ms */

int main(void)
{
    board_start();
    edges_start();
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
