/* Whether the coil supply does what it is told, in mV. */
#ifndef GUARD_CUT_OFF_MONITOR_H
#define GUARD_CUT_OFF_MONITOR_H

#include "twin.h"

struct cut_off_monitor {
    uint32_t disagree_steps;
    uint32_t differs_for;
    uint16_t low;
    uint16_t high;
};

static inline void cut_off_monitor_init(struct cut_off_monitor *self, uint32_t disagree_ms, uint16_t low, uint16_t high)
{
    self->disagree_steps = steps_of(disagree_ms, TICK_US);
    self->differs_for = 0;
    self->low = low;
    self->high = high;
}

static inline bool cut_off_monitor_step(struct cut_off_monitor *self, bool commanded_on, uint16_t read_back)
{
    bool differs = commanded_on ? read_back < self->high : read_back > self->low;
    if (!differs) {
        self->differs_for = 0;
        return true;
    }
    if (self->differs_for > self->disagree_steps)
        return false;
    self->differs_for++;
    return true;
}

#endif
