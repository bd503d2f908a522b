/* Whether the coil supply does what it is told: off at 3 V, on at 6 V, 100 ms to differ. */
#include "twin.h"

struct guard_cut_off_monitor {
    uint32_t disagree_steps;
    uint32_t differs_for;
    uint16_t low;
    uint16_t high;
};

const uint32_t guard_cut_off_monitor_size = sizeof(struct guard_cut_off_monitor);

void guard_cut_off_monitor_new(struct guard_cut_off_monitor *self)
{
    self->disagree_steps = steps_of(100, TICK_US);
    self->differs_for = 0;
    self->low = 3000;
    self->high = 6000;
}

static bool cut_off_monitor_step(struct guard_cut_off_monitor *self, bool commanded_on, uint16_t read_back)
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

void guard_cut_off_monitor_step(struct guard_cut_off_monitor *self, const int32_t *in, int32_t *out)
{
    out[0] = cut_off_monitor_step(self, in[0] != 0, (uint16_t)in[1]);
}
