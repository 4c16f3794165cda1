/* A timer that interrupts every millisecond: TIMER0_COMPA_vect. */
#ifndef CLOCK_H
#define CLOCK_H

#include <avr/io.h>

static inline void clock_start(void)
{
    TCCR0A = (uint8_t)(1u << WGM01); /* back to 0 after OCR0A */
    OCR0A = 249u;                    /* 250 counts of 64 cycles are 1 ms */
    TIMSK0 = (uint8_t)(1u << OCIE0A);
    TCCR0B = (uint8_t)((1u << CS01) | (1u << CS00)); /* run, one count every 64 cycles */
}

#endif
