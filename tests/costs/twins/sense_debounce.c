/* A contact without its bounces: closed after 50 ms, open after 100 ms. */
#include "sense_debounce.h"

struct sense_debounce {
    struct debounce contact;
};

const uint32_t sense_debounce_size = sizeof(struct sense_debounce);

void sense_debounce_new(struct sense_debounce *self) { debounce_init(&self->contact, 50, 100); }

void sense_debounce_step(struct sense_debounce *self, const int32_t *in, int32_t *out)
{
    out[0] = debounce_step(&self->contact, in[0] != 0);
}
