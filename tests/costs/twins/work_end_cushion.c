/* Slows a cylinder before it meets its end. */
#include "twin.h"

struct cushion {
    struct divisor zone;
    int32_t end_speed;
};

struct work_end_cushion {
    struct cushion positive;
    struct cushion negative;
};

const uint32_t work_end_cushion_size = sizeof(struct work_end_cushion);

void work_end_cushion_new(struct work_end_cushion *self)
{
    self->positive = (struct cushion){ divisor_of(ratio_permille(100)), ratio_permille(200) };
    self->negative = (struct cushion){ divisor_of(ratio_permille(200)), ratio_permille(100) };
}

static int32_t end_cushion_step(const struct work_end_cushion *self, int32_t command, struct reading position)
{
    const struct cushion *cushion = command < 0 ? &self->negative : &self->positive;
    int32_t distance = 0;
    if (position.valid) {
        int32_t along = at_least(position.value, 0);
        distance = command < 0 ? along : RATIO_ONE - along;
    }
    int32_t rise = ratio_times(RATIO_ONE - cushion->end_speed, divisor_share(&cushion->zone, distance));
    int32_t limit = cushion->end_speed + rise;
    return held(command, -limit, limit);
}

void work_end_cushion_step(struct work_end_cushion *self, const int32_t *in, int32_t *out)
{
    out[0] = end_cushion_step(self, in[0], (struct reading){ in[1] != 0, in[2] });
}
