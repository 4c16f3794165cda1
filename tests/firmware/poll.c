/* The main loop looks at the pins whenever it comes round; the rest of its work takes 400 us. */
#include "one_edge.h"

#include <util/delay.h>

int main(void)
{
    uint8_t before;

    board_start();
    before = board_code();
    while (!board_asked()) {
        board_count(one_edge_step(&before, board_code()));
        _delay_us(400);
    }
    board_report();
}
