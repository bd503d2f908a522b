/* A rocker with a contact for each of two positions: 200 ms to disagree. */
#include "sense_contact_pair.h"

struct sense_changeover {
    struct contact_pair pair;
};

const uint32_t sense_changeover_size = sizeof(struct sense_changeover);

void sense_changeover_new(struct sense_changeover *self)
{
    contact_pair_init(&self->pair, 200);
}

void sense_changeover_step(struct sense_changeover *self, const int32_t *in, int32_t *out)
{
    sensed_put(contact_pair_step(&self->pair, in[0] != 0, in[1] != 0), out);
}
