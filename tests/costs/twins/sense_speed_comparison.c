/* Two sources of one speed: at most 100 rpm apart for 300 ms. */
#include "sense_reading.h"

struct sense_speed_comparison {
    int32_t tolerance; /* in eighths of a revolution a minute */
    uint32_t disagree_steps;
    uint32_t waited; /* steps since they first differed by more than the tolerance */
};

const uint32_t sense_speed_comparison_size = sizeof(struct sense_speed_comparison);

void sense_speed_comparison_new(struct sense_speed_comparison *self)
{
    self->tolerance = 100 * 8;
    self->disagree_steps = steps_of(300, TICK_US);
    self->waited = 0;
}

static bool speed_comparison_step(struct sense_speed_comparison *self, struct sensed a, struct sensed b)
{
    bool comparable = a.health == HEALTH_GOOD && b.health == HEALTH_GOOD;
    if (!comparable || magnitude_32(a.value - b.value) <= self->tolerance) {
        self->waited = 0;
        return false;
    }
    if (self->waited >= self->disagree_steps)
        return true;
    self->waited++;
    return false;
}

void sense_speed_comparison_step(struct sense_speed_comparison *self, const int32_t *in, int32_t *out)
{
    out[0] = speed_comparison_step(self, sensed_from(in), sensed_from(in + 2));
}
