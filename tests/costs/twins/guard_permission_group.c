/* A group of functions that get their permission together and lose it together. */
#include "guard_permission_group.h"

struct guard_permission_group {
    struct permission_group group;
};

const uint32_t guard_permission_group_size = sizeof(struct guard_permission_group);

void guard_permission_group_new(struct guard_permission_group *self)
{
    neutral_start_init(&self->group.start, 300, 3);
    last_gate_init(&self->group.gate, 50, 150);
    permission_group_reasons(&self->group, 1u << 0, 1u << 1, 1u << 2);
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
    struct permission permission = permission_group_step(&self->group, &inputs);
    out[0] = permission.permitted;
    out[1] = permission.stop;
    out[2] = permission.phase;
    out[3] = (int32_t)permission.why_not;
    out[4] = permission_group_gate(&self->group, &permission, in[6] != 0, (uint16_t)in[7]);
}
