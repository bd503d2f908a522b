/* Two contacts of which exactly one is closed, except for a moment while the switch moves. */
#ifndef SENSE_CONTACT_PAIR_H
#define SENSE_CONTACT_PAIR_H

#include "sense_reading.h"

struct contact_pair {
    uint32_t disagree_steps;
    uint32_t waited; /* steps since they first contradicted each other */
    bool agreed;
    bool level; /* what both last agreed on */
};

static inline void contact_pair_init(struct contact_pair *self, uint32_t disagree_ms)
{
    self->disagree_steps = steps_of(disagree_ms, TICK_US);
    self->waited = 0;
    self->agreed = false;
    self->level = false;
}

static inline struct sensed contact_pair_step(struct contact_pair *self, bool when_false, bool when_true)
{
    if (when_false != when_true) {
        self->agreed = true;
        self->level = when_true;
        self->waited = 0;
    } else if (self->waited >= self->disagree_steps) {
        self->agreed = false;
    } else {
        self->waited++;
    }
    return self->agreed ? sensed_good(self->level) : sensed_flawed(HEALTH_DISAGREEMENT);
}

#endif
