/* The lever over the allowed opening of a spool, each direction for itself. */
#include "twin.h"

struct work_spool {
    int32_t positive;
    int32_t negative;
};

const uint32_t work_spool_size = sizeof(struct work_spool);

void work_spool_new(struct work_spool *self)
{
    self->positive = ratio_permille(900);
    self->negative = ratio_permille(600);
}

static int32_t spool_step(const struct work_spool *self, int32_t intent, int32_t share)
{
    int32_t opening = ratio_times(intent, intent < 0 ? self->negative : self->positive);
    return ratio_times(opening, at_least(share, 0));
}

void work_spool_step(struct work_spool *self, const int32_t *in, int32_t *out)
{
    out[0] = spool_step(self, in[0], in[1]);
}
