/* A command comes to zero in a stated time, whatever else happens to it. */
#include "ramp_fine.h"

enum stop_phase { STOPPED, STOPPING, FOLLOWING };

struct ramp_controlled_stop {
    int64_t rate;
    int64_t position;
    uint8_t phase;
};

const uint32_t ramp_controlled_stop_size = sizeof(struct ramp_controlled_stop);

void ramp_controlled_stop_new(struct ramp_controlled_stop *self)
{
    self->rate = fine_rate(200, TICK_US);
    self->position = 0;
    self->phase = STOPPED;
}

static int32_t controlled_stop_step(struct ramp_controlled_stop *self, int32_t command, bool asked)
{
    if (self->phase == FOLLOWING && asked)
        self->phase = STOPPING;
    else if (self->phase == STOPPED && !asked && command == 0)
        self->phase = FOLLOWING;

    if (self->phase == FOLLOWING) {
        self->position = fine_from_ratio(command);
    } else if (self->phase == STOPPING) {
        self->position = fine_approach(self->position, 0, self->rate);
        if (self->position == 0)
            self->phase = STOPPED;
    }
    return fine_to_ratio(self->position);
}

void ramp_controlled_stop_step(struct ramp_controlled_stop *self, const int32_t *in, int32_t *out)
{
    out[0] = controlled_stop_step(self, in[0], in[1] != 0);
}
