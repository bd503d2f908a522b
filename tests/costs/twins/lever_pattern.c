/* Which function each lever works. */
#include "lever_pattern.h"

/* It remembers nothing. */
struct lever_pattern {
    uint8_t nothing;
};

const uint32_t lever_pattern_size = sizeof(struct lever_pattern);

void lever_pattern_new(struct lever_pattern *self) { self->nothing = 0; }

void lever_pattern_step(struct lever_pattern *self, const int32_t *in, int32_t *out)
{
    (void)self;
    struct intent intent = pattern_assign((enum pattern)in[0], in[1], in[2], in[3], in[4]);
    out[0] = intent.drive;
    out[1] = intent.steer;
    out[2] = intent.left_side;
    out[3] = intent.right_side;
    out[4] = intent.boom;
    out[5] = intent.bucket;
}
