/* Whether a message comes as it should: new, too seldom, or too often for one sender. */
#ifndef CAN_ARRIVALS_H
#define CAN_ARRIVALS_H

#include "sense_freshness.h"

enum frame_flaw {
    FRAME_WAITING,
    FRAME_SOUND,
    FRAME_NEVER_SEEN,
    FRAME_LOST,
    FRAME_ERROR_VALUE,
    FRAME_NOT_AVAILABLE,
    FRAME_RESERVED,
    FRAME_INCONSISTENT,
    FRAME_DUPLICATED,
};

struct arrival {
    bool new_frame;
    bool fresh;
    enum frame_flaw flaw;
};

struct arrivals {
    uint32_t frame_micros;
    uint32_t most_micros;
    uint32_t drain_micros; /* a quarter more than passes, so that a sender with a fast clock never adds up to two */
    uint32_t surplus_micros;
    struct freshness heard;
    struct freshness valid;
    uint8_t count;
    uint8_t cause;
    bool counted;
    bool duplicated;
};

static inline void arrivals_init(struct arrivals *self, uint32_t period_ms, uint32_t start_up_ms, uint32_t most_frames)
{
    *self = (struct arrivals){
        .frame_micros = period_ms * 1000,
        .most_micros = period_ms * 1000 * most_frames,
        .drain_micros = TICK_US * 5 / 4,
        .cause = FRAME_WAITING,
    };
    uint32_t time_out_ms = 3 * period_ms > 300 ? 300 : 3 * period_ms;
    freshness_init(&self->heard, time_out_ms, start_up_ms);
    freshness_init(&self->valid, time_out_ms, start_up_ms);
}

/* A bucket that a frame fills by its period and time empties a little faster: one sender never fills it, two do. */
static inline void arrivals_meter(struct arrivals *self, uint32_t came)
{
    uint32_t level = self->surplus_micros > self->drain_micros ? self->surplus_micros - self->drain_micros : 0;
    level += self->frame_micros * came;
    self->surplus_micros = level < 2 * self->most_micros ? level : 2 * self->most_micros;
    if (level > self->most_micros)
        self->duplicated = true;
    else if (level <= self->frame_micros)
        self->duplicated = false;
}

/* Frames that came since the last period; the first count tells only that there was one. */
static inline uint8_t arrivals_count(struct arrivals *self, uint8_t count)
{
    uint8_t came = self->counted ? (uint8_t)(count - self->count) : count > 0;
    self->counted = true;
    self->count = count;
    arrivals_meter(self, came);
    return came;
}

static inline enum frame_flaw arrivals_flaw(const struct arrivals *self)
{
    if (self->duplicated)
        return FRAME_DUPLICATED;
    if (self->valid.state == FRESHNESS_WAITING)
        return FRAME_WAITING;
    if (self->heard.state == FRESHNESS_FRESH)
        return (enum frame_flaw)self->cause;
    return self->valid.state == FRESHNESS_NEVER_SEEN ? FRAME_NEVER_SEEN : FRAME_LOST;
}

/* `latest` is what the newest frame says, if any came. */
static inline struct arrival arrivals_step(struct arrivals *self, bool came, enum frame_flaw latest)
{
    if (came)
        self->cause = (uint8_t)(self->duplicated ? FRAME_DUPLICATED : latest);
    bool new_frame = came && self->cause == FRAME_SOUND;
    freshness_step(&self->heard, came);
    bool fresh = freshness_step(&self->valid, new_frame) == FRESHNESS_FRESH && !self->duplicated;
    return (struct arrival){ new_frame, fresh, arrivals_flaw(self) };
}

#endif
