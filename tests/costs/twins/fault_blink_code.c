/* A code of two digits on one lamp: tens long, units short. 250 ms lit, 250 ms dark, 1500 ms of pause. */
#include "fault_blink_code.h"

struct fault_blink_code {
    struct blink_code blink;
};

const uint32_t fault_blink_code_size = sizeof(struct fault_blink_code);

void fault_blink_code_new(struct fault_blink_code *self) { blink_code_init(&self->blink, 250, 250, 1500); }

void fault_blink_code_step(struct fault_blink_code *self, const int32_t *in, int32_t *out)
{
    out[0] = blink_code_step(&self->blink, (uint8_t)in[0]);
}
