#include "board.h"

#include <avr/interrupt.h>
#include <avr/sleep.h>

volatile struct tally tally;

static void put(char character)
{
    while ((UCSR0A & (uint8_t)(1u << UDRE0)) == 0u) {
    }
    UCSR0A |= (uint8_t)(1u << TXC0); /* writing 1 clears it: it tells when this character has left */
    UDR0 = (uint8_t)character;
}

static void put_number(uint32_t number)
{
    char digits[10];
    uint8_t count = 0u;

    do {
        digits[count++] = (char)('0' + (char)(number % 10u));
        number /= 10u;
    } while (number != 0u);
    while (count != 0u) {
        put(digits[--count]);
    }
}

void board_start(void)
{
    PORTD = (uint8_t)((1u << PORTD2) | (1u << PORTD3));
    UBRR0 = 8u; /* 115200 baud, near enough */
    UCSR0B = (uint8_t)(1u << TXEN0);
}

void board_report(void)
{
    cli();
    put_number(tally.up);
    put(' ');
    put_number(tally.down);
    put(' ');
    put_number(tally.looks);
    put('\n');
    while ((UCSR0A & (uint8_t)(1u << TXC0)) == 0u) {
    }
    for (;;) {
        sleep_mode(); /* with interrupts off nothing wakes it; a simulator ends here */
    }
}
