/* A lever on the bus: positions, neutral and health from its two messages. Two buttons are fitted. */
#ifndef CAN_BUS_LEVER_H
#define CAN_BUS_LEVER_H

#include "can_arrivals.h"

/* An axis: three flags of two bits, then a number of ten. Of a flag 10 is "error", 11 "not available". */
#define AXIS_NEUTRAL 0x01u
#define AXIS_NEGATIVE 0x04u
#define AXIS_POSITIVE 0x10u
#define AXIS_FLAGS (AXIS_NEUTRAL | AXIS_NEGATIVE | AXIS_POSITIVE)
#define AXIS_LARGEST 1000u
#define AXIS_ERROR 1022u
#define AXIS_NOT_AVAILABLE 1023u

/* The lower bits of the buttons, in the word from bit 32 on. */
#define BUTTON_1 (1u << 14)
#define BUTTON_2 (1u << 12)
#define BUTTONS_FITTED (BUTTON_1 | BUTTON_2)

struct axis_held {
    int32_t position;
    bool neutral;
};

struct lever_reading {
    int32_t x;
    int32_t y;
    int32_t wheel;
    uint32_t buttons;
    enum frame_flaw flaw;
    enum frame_flaw wheel_flaw;
    bool neutral;
    bool wheel_neutral;
    bool new_frame;
    bool new_wheel_frame;
    bool fresh;
    bool wheel_fresh;
};

struct bus_lever {
    struct arrivals basic;
    struct arrivals extended;
    struct axis_held x;
    struct axis_held y;
    struct axis_held wheel;
    uint32_t buttons;
    uint32_t neutral_band; /* thousandths */
};

static inline void bus_lever_init(struct bus_lever *self, uint32_t period_ms, uint32_t start_up_ms,
                                  uint32_t most_frames, uint32_t neutral_band)
{
    *self = (struct bus_lever){ .neutral_band = neutral_band };
    arrivals_init(&self->basic, period_ms, start_up_ms, most_frames);
    arrivals_init(&self->extended, period_ms, start_up_ms, most_frames);
}

/* As ratio_permille: 2^30 is so many thousand steps and 824 more. */
static inline int32_t axis_position(uint32_t thousandths)
{
    return (int32_t)(thousandths * (RATIO_ONE / 1000) + (thousandths * (RATIO_ONE % 1000) + 500) / 1000);
}

static inline enum frame_flaw axis_read(uint32_t word, uint32_t neutral_band, struct axis_held *held)
{
    uint32_t number = word >> 6 & 0x3FFu;
    uint32_t lower = word & AXIS_FLAGS;
    uint32_t upper = word >> 1 & AXIS_FLAGS;
    *held = (struct axis_held){ 0, false };
    if (number == AXIS_ERROR || (upper & ~lower) != 0)
        return FRAME_ERROR_VALUE;
    if (number == AXIS_NOT_AVAILABLE || upper != 0)
        return FRAME_NOT_AVAILABLE;
    if (number > AXIS_LARGEST)
        return FRAME_RESERVED;
    switch (lower) {
    case AXIS_NEUTRAL:
        if (number > neutral_band)
            return FRAME_INCONSISTENT;
        held->neutral = true;
        return FRAME_SOUND;
    case AXIS_NEGATIVE:
        held->position = -axis_position(number);
        return FRAME_SOUND;
    case AXIS_POSITIVE:
        held->position = axis_position(number);
        return FRAME_SOUND;
    default:
        return FRAME_INCONSISTENT;
    }
}

static inline enum frame_flaw buttons_read(uint32_t word, uint32_t *buttons)
{
    uint32_t lower = word & BUTTONS_FITTED;
    uint32_t upper = word >> 1 & BUTTONS_FITTED;
    *buttons = lower & ~upper;
    if (upper == 0)
        return FRAME_SOUND;
    /* No field is both, and the first button has the highest place: the larger one holds it. */
    return (upper & ~lower) > (upper & lower) ? FRAME_ERROR_VALUE : FRAME_NOT_AVAILABLE;
}

static inline void bus_lever_basic(struct bus_lever *self, const int32_t *data, uint8_t count,
                                   struct lever_reading *reading)
{
    struct axis_held x = self->x;
    struct axis_held y = self->y;
    uint32_t buttons = self->buttons;
    enum frame_flaw latest = FRAME_SOUND;
    bool came = arrivals_count(&self->basic, count) > 0;
    if (came && !self->basic.duplicated) {
        enum frame_flaw y_flaw = axis_read((uint32_t)data[0] >> 16, self->neutral_band, &y);
        enum frame_flaw buttons_flaw = buttons_read((uint32_t)data[1], &buttons);
        latest = axis_read((uint32_t)data[0], self->neutral_band, &x);
        if (latest == FRAME_SOUND)
            latest = y_flaw != FRAME_SOUND ? y_flaw : buttons_flaw;
    }
    struct arrival arrival = arrivals_step(&self->basic, came, latest);
    if (arrival.new_frame) {
        self->x = x;
        self->y = y;
        self->buttons = buttons;
    }
    reading->new_frame = arrival.new_frame;
    reading->fresh = arrival.fresh;
    reading->flaw = arrival.flaw;
    if (arrival.fresh) {
        reading->x = self->x.position;
        reading->y = self->y.position;
        reading->neutral = arrival.flaw == FRAME_SOUND && self->x.neutral && self->y.neutral;
        reading->buttons = self->buttons;
    }
}

static inline void bus_lever_extended(struct bus_lever *self, const int32_t *data, uint8_t count,
                                      struct lever_reading *reading)
{
    struct axis_held wheel = self->wheel;
    enum frame_flaw latest = FRAME_SOUND;
    bool came = arrivals_count(&self->extended, count) > 0;
    if (came && !self->extended.duplicated)
        latest = axis_read((uint32_t)data[0], self->neutral_band, &wheel);
    struct arrival arrival = arrivals_step(&self->extended, came, latest);
    if (arrival.new_frame)
        self->wheel = wheel;
    reading->new_wheel_frame = arrival.new_frame;
    reading->wheel_fresh = arrival.fresh;
    reading->wheel_flaw = arrival.flaw;
    if (arrival.fresh) {
        reading->wheel = self->wheel.position;
        reading->wheel_neutral = arrival.flaw == FRAME_SOUND && self->wheel.neutral;
    }
}

#endif
