/*
 * Debouncing in software: three ways to make one level that is accepted of the many that are read, for one phase.
 * Each step is called once a millisecond with the level that the pin has then, and returns the level that is accepted.
 */
#ifndef DEBOUNCE_H
#define DEBOUNCE_H

#include <stdbool.h>
#include <stdint.h>

#define LOCKOUT_LOOKS 5u /* a change is followed only so many looks after the one before */
#define LOOKS 4u         /* looks to count up or down, or that must be equal */

/* What is remembered of one phase. All 0 is an open contact that has long been open. */
struct phase {
    uint8_t accepted; /* 1 while closed */
    uint8_t before;   /* the level at the look before */
    uint8_t count;    /* looks left of a lock-out, where an integrator stands, or equal looks so far */
};

/* Believe a change at once, and then nothing for a while. */
static inline uint8_t lockout_step(struct phase *phase, uint8_t level)
{
    if (phase->count != 0u) {
        phase->count--;
    } else if (level != phase->accepted) {
        phase->accepted = level;
        phase->count = LOCKOUT_LOOKS - 1u;
    }
    return phase->accepted;
}

/* Count up while closed and down while open; accept either end once it is reached. */
static inline uint8_t integrator_step(struct phase *phase, uint8_t level)
{
    if (level != 0u && phase->count < LOOKS) {
        phase->count++;
    } else if (level == 0u && phase->count > 0u) {
        phase->count--;
    }
    if (phase->count == 0u || phase->count == LOOKS) {
        phase->accepted = phase->count == LOOKS;
    }
    return phase->accepted;
}

/* Believe a level that so many looks in a row agree on. */
static inline uint8_t equal_step(struct phase *phase, uint8_t level)
{
    if (level != phase->before) {
        phase->before = level;
        phase->count = 0u;
    }
    if (phase->count < LOOKS) {
        phase->count++;
    }
    if (phase->count == LOOKS) {
        phase->accepted = level;
    }
    return phase->accepted;
}

#endif
