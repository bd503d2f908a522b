/* Which function each lever works. */
#include "twin.h"

enum pattern { PATTERN_NONE, PATTERN_H, PATTERN_ISO };

struct intent {
    int32_t drive;
    int32_t steer;
    int32_t left_side;
    int32_t right_side;
    int32_t boom;
    int32_t bucket;
};

/* It remembers nothing. */
struct lever_pattern {
    uint8_t nothing;
};

const uint32_t lever_pattern_size = sizeof(struct lever_pattern);

void lever_pattern_new(struct lever_pattern *self) { self->nothing = 0; }

static struct intent pattern_assign(enum pattern pattern, int32_t left_x, int32_t left_y, int32_t right_x,
                                    int32_t right_y)
{
    switch (pattern) {
    case PATTERN_H:
        return (struct intent){ .left_side = left_y, .right_side = right_y, .boom = -left_x, .bucket = right_x };
    case PATTERN_ISO:
        return (struct intent){ .drive = left_y, .steer = left_x, .boom = -right_y, .bucket = right_x };
    default:
        return (struct intent){ 0 };
    }
}

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
