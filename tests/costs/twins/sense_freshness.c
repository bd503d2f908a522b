/* Whether a value that comes in frames is still alive: lost after 50 ms, never seen after 500 ms. */
#include "twin.h"

enum freshness { FRESHNESS_WAITING, FRESHNESS_FRESH, FRESHNESS_LOST, FRESHNESS_NEVER_SEEN };

struct sense_freshness {
    uint32_t time_out_steps;
    uint32_t start_up_steps;
    uint32_t waited; /* steps since the last valid frame, or since the start */
    bool seen;
    uint8_t state;
};

const uint32_t sense_freshness_size = sizeof(struct sense_freshness);

void sense_freshness_new(struct sense_freshness *self)
{
    self->time_out_steps = steps_of(50, TICK_US);
    self->start_up_steps = steps_of(500, TICK_US);
    self->waited = 0;
    self->seen = false;
    self->state = FRESHNESS_WAITING;
}

static enum freshness freshness_step(struct sense_freshness *self, bool valid_frame)
{
    if (valid_frame) {
        self->seen = true;
        self->waited = 0;
        self->state = FRESHNESS_FRESH;
        return FRESHNESS_FRESH;
    }
    if (self->waited < UINT32_MAX)
        self->waited++;
    if (self->seen)
        self->state = self->waited >= self->time_out_steps ? FRESHNESS_LOST : FRESHNESS_FRESH;
    else
        self->state = self->waited > self->start_up_steps ? FRESHNESS_NEVER_SEEN : FRESHNESS_WAITING;
    return (enum freshness)self->state;
}

void sense_freshness_step(struct sense_freshness *self, const int32_t *in, int32_t *out)
{
    out[0] = freshness_step(self, in[0] != 0);
}
