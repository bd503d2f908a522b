/* A group of functions that get their permission together and lose it together. */
#ifndef GUARD_PERMISSION_GROUP_H
#define GUARD_PERMISSION_GROUP_H

#include "guard_last_gate.h"
#include "guard_neutral_start.h"

enum stop_kind { STOP_NONE, STOP_CONTROLLED, STOP_IMMEDIATE };

struct group_inputs {
    uint32_t reasons;   /* against it */
    uint32_t immediate; /* those that stop it at once */
    struct start_inputs start;
};

struct permission {
    bool permitted;
    enum stop_kind stop;
    enum start phase;
    uint32_t why_not;
};

struct permission_group {
    struct neutral_start start;
    struct last_gate gate;
    uint32_t stopping; /* its own reasons, each a bit */
    uint32_t not_neutral;
    uint32_t not_asked;
    uint8_t stop;
};

/* Its own reasons are bits. */
static inline void permission_group_reasons(struct permission_group *self, uint32_t stopping, uint32_t not_neutral,
                                            uint32_t not_asked)
{
    self->stopping = stopping;
    self->not_neutral = not_neutral;
    self->not_asked = not_asked;
    self->stop = STOP_NONE;
}

static inline struct permission permission_group_step(struct permission_group *self, const struct group_inputs *inputs)
{
    bool was_permitted = self->start.phase == START_PERMITTED;
    uint32_t reasons = inputs->reasons;
    if (self->stop == STOP_CONTROLLED)
        reasons |= self->stopping;
    struct start_inputs start = inputs->start;
    start.conditions = reasons == 0;
    enum start phase = neutral_start_step(&self->start, &start);
    bool permitted = phase == START_PERMITTED;
    if (permitted)
        self->stop = STOP_NONE;
    else if (reasons & inputs->immediate)
        self->stop = STOP_IMMEDIATE;
    else if (was_permitted)
        self->stop = STOP_CONTROLLED;
    uint32_t why_not = 0;
    if (!permitted) {
        why_not = reasons;
        if (!start.neutral || phase == START_NOT_NEUTRAL)
            why_not |= self->not_neutral;
        if (self->start.must_ask)
            why_not |= self->not_asked;
    }
    return (struct permission){ permitted, (enum stop_kind)self->stop, phase, why_not };
}

static inline enum gate permission_group_gate(struct permission_group *self, const struct permission *permission,
                                              bool ramps_at_zero, uint16_t measured)
{
    if (self->stop == STOP_CONTROLLED && ramps_at_zero)
        self->stop = STOP_NONE;
    bool open = permission->permitted || self->stop == STOP_CONTROLLED;
    return last_gate_step(&self->gate, open, measured);
}

#endif
