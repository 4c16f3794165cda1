/* Each edge of either phase interrupts, and the transition table makes sense of it; the main loop is free. */
#include "edges.h"

int main(void)
{
    board_start();
    edges_start();
    board_idle();
}
