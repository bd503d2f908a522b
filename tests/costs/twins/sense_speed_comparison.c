/* Two sources of one speed: at most 100 rpm apart for 300 ms. */
#include "sense_speed_comparison.h"

struct sense_speed_comparison {
    struct speed_comparison comparison;
};

const uint32_t sense_speed_comparison_size = sizeof(struct sense_speed_comparison);

void sense_speed_comparison_new(struct sense_speed_comparison *self)
{
    speed_comparison_init(&self->comparison, 100 * 8, 300);
}

void sense_speed_comparison_step(struct sense_speed_comparison *self, const int32_t *in, int32_t *out)
{
    out[0] = speed_comparison_step(&self->comparison, sensed_from(in), sensed_from(in + 2));
}
