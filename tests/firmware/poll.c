/* The main loop looks at the pins whenever it comes round; the rest of its work takes 400 us. */
#include "polling.h"

int main(void)
{
    uint8_t before = polling_start();

    while (!board_asked()) {
        polling_round(&before);
    }
    board_report();
}
