/* One lever axis: deadband 80, full at 980, progression 300 thousandths. */
#include "lever_axis.h"

struct lever_axis {
    struct axis axis;
};

const uint32_t lever_axis_size = sizeof(struct lever_axis);

void lever_axis_new(struct lever_axis *self) { axis_init(&self->axis, 80, 980, 300); }

void lever_axis_step(struct lever_axis *self, const int32_t *in, int32_t *out)
{
    out[0] = axis_step(&self->axis, in[0]);
}
