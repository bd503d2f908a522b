/* The step in which a level became true. */
#include "timing_edge.h"

struct timing_edge {
    struct edge edge;
};

const uint32_t timing_edge_size = sizeof(struct timing_edge);

void timing_edge_new(struct timing_edge *self) { self->edge.before = true; }

void timing_edge_step(struct timing_edge *self, const int32_t *in, int32_t *out)
{
    out[0] = edge_step(&self->edge, in[0] != 0);
}
