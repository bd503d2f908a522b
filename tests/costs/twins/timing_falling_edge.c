/* The step in which a level became false. */
#include "twin.h"

struct timing_falling_edge {
    bool before;
};

const uint32_t timing_falling_edge_size = sizeof(struct timing_falling_edge);

void timing_falling_edge_new(struct timing_falling_edge *self) { self->before = false; }

static bool falling_edge_step(struct timing_falling_edge *self, bool level)
{
    bool edge = !level && self->before;
    self->before = level;
    return edge;
}

void timing_falling_edge_step(struct timing_falling_edge *self, const int32_t *in, int32_t *out) { out[0] = falling_edge_step(self, in[0] != 0); }
