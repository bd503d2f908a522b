/* A switch with a make and a break contact: 100 ms to disagree. */
#include "sense_contact_pair.h"

struct sense_dual_contact {
    struct contact_pair pair;
};

const uint32_t sense_dual_contact_size = sizeof(struct sense_dual_contact);

void sense_dual_contact_new(struct sense_dual_contact *self)
{
    contact_pair_init(&self->pair, 100);
}

void sense_dual_contact_step(struct sense_dual_contact *self, const int32_t *in, int32_t *out)
{
    sensed_put(contact_pair_step(&self->pair, in[1] != 0, in[0] != 0), out);
}
