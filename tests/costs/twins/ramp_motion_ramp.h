/* One motion with its own times for each direction and phase. */
#ifndef RAMP_MOTION_RAMP_H
#define RAMP_MOTION_RAMP_H

#include "ramp_fine.h"

struct motion_ramp {
    struct motion_rates positive;
    struct motion_rates negative;
    int64_t position;
    uint32_t dwell;
    uint32_t rested;
    int8_t came_from;
    uint8_t phase;
};

static inline void motion_ramp_reset(struct motion_ramp *self)
{
    self->position = 0;
    self->rested = 0;
    self->came_from = 0;
    self->phase = PHASE_HOLDING;
}

static inline enum motion_phase motion_phase_of(int64_t from, int64_t goal)
{
    if (opposed_64(from, goal))
        return PHASE_REVERSING;
    if (magnitude_64(goal) > magnitude_64(from))
        return PHASE_ACCELERATING;
    if (magnitude_64(goal) < magnitude_64(from))
        return PHASE_DECELERATING;
    return PHASE_HOLDING;
}

static inline bool motion_ramp_must_rest(const struct motion_ramp *self, int64_t goal)
{
    return self->rested < self->dwell && opposed_64(goal, self->came_from);
}

static inline int32_t motion_ramp_output(const struct motion_ramp *self)
{
    return fine_to_ratio(self->position);
}

static inline int32_t motion_ramp_step(struct motion_ramp *self, int32_t target)
{
    int64_t goal = fine_from_ratio(target);
    int64_t from = self->position;
    int64_t direction = from;
    if (from == 0) {
        bool rests = motion_ramp_must_rest(self, goal);
        self->phase = (uint8_t)motion_phase_of(rests ? self->came_from : 0, goal);
        if (self->rested < UINT32_MAX)
            self->rested++;
        if (motion_ramp_must_rest(self, goal))
            return 0;
        direction = goal;
    } else {
        self->phase = (uint8_t)motion_phase_of(from, goal);
    }
    self->position = motion_rates_approach(direction < 0 ? &self->negative : &self->positive, from, goal);
    if (self->position != 0) {
        self->came_from = self->position < 0 ? -1 : 1;
        self->rested = 0;
    }
    return motion_ramp_output(self);
}

static inline enum motion_state motion_ramp_state(const struct motion_ramp *self)
{
    if (self->position > 0)
        return MOTION_FORWARD;
    return self->position < 0 ? MOTION_REVERSE : MOTION_STANDING;
}

#endif
