/* 32 contacts without their bounces, a bit each: the first half closed after 50 ms and open after 700 ms, the others
 * after 30 ms. */
#include "twin.h"

#define CHANNELS 32

struct sense_debounce_bank {
    uint32_t state;
    uint8_t set_steps[CHANNELS];
    uint8_t clear_steps[CHANNELS];
    uint8_t waited[CHANNELS]; /* steps since the level first contradicted the state */
};

const uint32_t sense_debounce_bank_size = sizeof(struct sense_debounce_bank);

void sense_debounce_bank_new(struct sense_debounce_bank *self)
{
    self->state = 0;
    for (int channel = 0; channel < CHANNELS; channel++) {
        bool seat = channel < CHANNELS / 2;
        self->set_steps[channel] = (uint8_t)steps_of(seat ? 50 : 30, TICK_US);
        self->clear_steps[channel] = (uint8_t)steps_of(seat ? 700 : 30, TICK_US);
        self->waited[channel] = 0;
    }
}

static uint32_t debounce_bank_step(struct sense_debounce_bank *self, uint32_t levels)
{
    uint32_t state = self->state;
    uint32_t contested = levels ^ state;
    for (int channel = 0; channel < CHANNELS; channel++) {
        uint32_t mask = UINT32_C(1) << channel;
        if (!(contested & mask)) {
            self->waited[channel] = 0;
        } else if (self->waited[channel] >= (levels & mask ? self->set_steps : self->clear_steps)[channel]) {
            state ^= mask;
            self->waited[channel] = 0;
        } else {
            self->waited[channel]++;
        }
    }
    self->state = state;
    return state;
}

void sense_debounce_bank_step(struct sense_debounce_bank *self, const int32_t *in, int32_t *out)
{
    uint32_t state = debounce_bank_step(self, (uint32_t)in[0]);
    out[0] = state & 0xFFFFu;
    out[1] = state >> 16;
}
