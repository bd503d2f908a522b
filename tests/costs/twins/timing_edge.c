/* The step in which a level became true. */
#include "twin.h"

struct timing_edge {
    bool before;
};

const uint32_t timing_edge_size = sizeof(struct timing_edge);

void timing_edge_new(struct timing_edge *self) { self->before = true; }

static bool edge_step(struct timing_edge *self, bool level)
{
    bool edge = level && !self->before;
    self->before = level;
    return edge;
}

void timing_edge_step(struct timing_edge *self, const int32_t *in, int32_t *out) { out[0] = edge_step(self, in[0] != 0); }
