/* The start-up test of the output that cuts the supply of all coils: off at 3 V, on at 6 V, 100 ms to settle. */
#include "guard_cut_off.h"

struct guard_cut_off {
    struct cut_off_test test;
};

const uint32_t guard_cut_off_size = sizeof(struct guard_cut_off);

void guard_cut_off_new(struct guard_cut_off *self) { cut_off_init(&self->test, 100, 3000, 6000); }

void guard_cut_off_step(struct guard_cut_off *self, const int32_t *in, int32_t *out)
{
    enum cut_off state = cut_off_step(&self->test, (uint16_t)in[0]);
    out[0] = state;
    out[1] = state == CUT_OFF_TESTING_ON || state == CUT_OFF_PASSED;
}
