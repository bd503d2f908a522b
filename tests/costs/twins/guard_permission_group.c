/* A group of functions that get their permission together and lose it together. */
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

struct guard_permission_group {
    struct neutral_start start;
    struct last_gate gate;
    uint32_t stopping; /* its own reasons, each a bit */
    uint32_t not_neutral;
    uint32_t not_asked;
    uint8_t stop;
};

const uint32_t guard_permission_group_size = sizeof(struct guard_permission_group);

void guard_permission_group_new(struct guard_permission_group *self)
{
    neutral_start_init(&self->start, 300, 3);
    last_gate_init(&self->gate, 50, 150);
    self->stopping = 1u << 0;
    self->not_neutral = 1u << 1;
    self->not_asked = 1u << 2;
    self->stop = STOP_NONE;
}

static struct permission permission_group_step(struct guard_permission_group *self, const struct group_inputs *inputs)
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

static enum gate permission_group_gate(struct guard_permission_group *self, const struct permission *permission,
                                       bool ramps_at_zero, uint16_t measured)
{
    if (self->stop == STOP_CONTROLLED && ramps_at_zero)
        self->stop = STOP_NONE;
    bool open = permission->permitted || self->stop == STOP_CONTROLLED;
    return last_gate_step(&self->gate, open, measured);
}

void guard_permission_group_step(struct guard_permission_group *self, const int32_t *in, int32_t *out)
{
    const struct group_inputs inputs = {
        .reasons = (uint32_t)in[0],
        .immediate = (uint32_t)in[1],
        .start = {
            .neutral = in[2] != 0,
            .new_frame = in[3] != 0,
            .ask = in[4] != 0,
            .ask_required = in[5] != 0,
        },
    };
    struct permission permission = permission_group_step(self, &inputs);
    out[0] = permission.permitted;
    out[1] = permission.stop;
    out[2] = permission.phase;
    out[3] = (int32_t)permission.why_not;
    out[4] = permission_group_gate(self, &permission, in[6] != 0, (uint16_t)in[7]);
}
