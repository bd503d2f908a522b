/* One pump, and the brake in step with it. */
#include "twin.h"

enum single_path_state { SINGLE_PATH_BRAKED, SINGLE_PATH_OPENING, SINGLE_PATH_DRIVING, SINGLE_PATH_STOPPING };

struct propel_single_path {
    uint32_t opening_steps;
    uint32_t rest_steps;
    uint32_t stop_steps;
    uint32_t waited;
    uint8_t state;
};

struct single_path_inputs {
    bool permitted;
    bool charge_pressure_good;
    int32_t drive;
    bool standstill;
};

const uint32_t propel_single_path_size = sizeof(struct propel_single_path);

static void enter(struct propel_single_path *self, enum single_path_state state)
{
    self->state = (uint8_t)state;
    /* The step that opens the brake, or begins the stop, is the first of its time; driving is no rest. */
    self->waited = state != SINGLE_PATH_DRIVING;
}

void propel_single_path_new(struct propel_single_path *self)
{
    self->opening_steps = steps_of(200, TICK_US);
    self->rest_steps = steps_of(1000, TICK_US);
    self->stop_steps = steps_of(3000, TICK_US);
    enter(self, SINGLE_PATH_BRAKED);
    self->waited = 0;
}

static int32_t single_path_step(struct propel_single_path *self, const struct single_path_inputs *inputs)
{
    bool wanted = inputs->permitted && inputs->charge_pressure_good;
    bool asked = wanted && inputs->drive != 0;
    if (!inputs->charge_pressure_good) {
        enter(self, SINGLE_PATH_BRAKED);
        return 0;
    }
    switch (self->state) {
    case SINGLE_PATH_BRAKED:
        if (asked)
            enter(self, self->opening_steps == 0 ? SINGLE_PATH_DRIVING : SINGLE_PATH_OPENING);
        break;
    case SINGLE_PATH_OPENING:
        if (!asked)
            enter(self, SINGLE_PATH_BRAKED);
        else if (self->waited >= self->opening_steps)
            enter(self, SINGLE_PATH_DRIVING);
        else
            self->waited++;
        break;
    case SINGLE_PATH_DRIVING:
        if (!wanted)
            enter(self, SINGLE_PATH_STOPPING);
        else if (inputs->drive != 0 || !inputs->standstill)
            self->waited = 0;
        else if (self->waited >= self->rest_steps)
            enter(self, SINGLE_PATH_BRAKED);
        else
            self->waited++;
        break;
    default:
        if (inputs->standstill || self->waited >= self->stop_steps)
            enter(self, SINGLE_PATH_BRAKED);
        else
            self->waited++;
        break;
    }
    return self->state == SINGLE_PATH_DRIVING ? inputs->drive : 0;
}

void propel_single_path_step(struct propel_single_path *self, const int32_t *in, int32_t *out)
{
    const struct single_path_inputs inputs = { in[0] != 0, in[1] != 0, in[2], in[3] != 0 };
    out[0] = single_path_step(self, &inputs);
    out[1] = self->state;
}
