/* A code of two digits on one lamp: tens long, units short. 250 ms lit, 250 ms dark, 1500 ms of pause. */
#include "twin.h"

enum blink_phase { BLINK_IDLE, BLINK_LIT, BLINK_DARK, BLINK_PAUSE };

struct fault_blink_code {
    uint32_t short_steps;
    uint32_t long_steps;
    uint32_t off_steps;
    uint32_t pause_steps;
    uint32_t left; /* steps that the phase still lasts */
    uint8_t phase;
    uint8_t long_left; /* blinks that are still to come after the present one */
    uint8_t short_left;
};

const uint32_t fault_blink_code_size = sizeof(struct fault_blink_code);

void fault_blink_code_new(struct fault_blink_code *self)
{
    *self = (struct fault_blink_code){
        .short_steps = steps_of(250, TICK_US),
        .long_steps = steps_of(3 * 250, TICK_US),
        .off_steps = steps_of(250, TICK_US),
        .pause_steps = steps_of(1500, TICK_US),
        .phase = BLINK_IDLE,
    };
}

static void blink_code_enter(struct fault_blink_code *self, enum blink_phase phase, uint32_t steps)
{
    self->phase = (uint8_t)phase;
    self->left = steps - 1;
}

static void blink_code_next(struct fault_blink_code *self)
{
    if (self->long_left > 0) {
        self->long_left--;
        blink_code_enter(self, BLINK_LIT, self->long_steps);
    } else {
        self->short_left--;
        blink_code_enter(self, BLINK_LIT, self->short_steps);
    }
}

static void blink_code_begin(struct fault_blink_code *self, uint8_t code)
{
    if (code > 99)
        code = 99;
    if (code == 0) {
        self->phase = BLINK_IDLE;
        return;
    }
    self->long_left = code / 10;
    self->short_left = code % 10;
    blink_code_next(self);
}

static bool blink_code_step(struct fault_blink_code *self, uint8_t code)
{
    if (self->phase != BLINK_IDLE && self->left > 0) {
        self->left--;
        return self->phase == BLINK_LIT;
    }
    switch (self->phase) {
    case BLINK_LIT:
        if (self->long_left == 0 && self->short_left == 0)
            blink_code_enter(self, BLINK_PAUSE, self->pause_steps);
        else
            blink_code_enter(self, BLINK_DARK, self->off_steps);
        break;
    case BLINK_DARK:
        blink_code_next(self);
        break;
    default:
        blink_code_begin(self, code);
        break;
    }
    return self->phase == BLINK_LIT;
}

void fault_blink_code_step(struct fault_blink_code *self, const int32_t *in, int32_t *out)
{
    out[0] = blink_code_step(self, (uint8_t)in[0]);
}
