/* No motion before the levers were neutral for 300 ms and three frames. */
#include "guard_neutral_start.h"

struct guard_neutral_start {
    struct neutral_start start;
};

const uint32_t guard_neutral_start_size = sizeof(struct guard_neutral_start);

void guard_neutral_start_new(struct guard_neutral_start *self) { neutral_start_init(&self->start, 300, 3); }

void guard_neutral_start_step(struct guard_neutral_start *self, const int32_t *in, int32_t *out)
{
    const struct start_inputs inputs = {
        .conditions = in[0] != 0,
        .neutral = in[1] != 0,
        .new_frame = in[2] != 0,
        .ask = in[3] != 0,
        .ask_required = in[4] != 0,
    };
    out[0] = neutral_start_step(&self->start, &inputs);
    out[1] = self->start.must_ask;
}
