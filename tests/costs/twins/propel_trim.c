/* Straight ahead is straight. */
#include "propel_trim.h"

struct propel_trim {
    struct trim trim;
};

const uint32_t propel_trim_size = sizeof(struct propel_trim);

void propel_trim_new(struct propel_trim *self)
{
    trim_init(&self->trim, 0, 30);
}

void propel_trim_step(struct propel_trim *self, const int32_t *in, int32_t *out)
{
    struct sides sides = trim_step(&self->trim, (struct sides){ in[0], in[1] });
    out[0] = sides.left;
    out[1] = sides.right;
}
