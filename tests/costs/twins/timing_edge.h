/* The step in which a level became true. */
#ifndef TIMING_EDGE_H
#define TIMING_EDGE_H

#include "twin.h"

struct edge {
    bool before;
};

static inline bool edge_step(struct edge *self, bool level)
{
    bool edge = level && !self->before;
    self->before = level;
    return edge;
}

#endif
