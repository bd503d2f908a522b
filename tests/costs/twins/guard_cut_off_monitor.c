/* Whether the coil supply does what it is told: off at 3 V, on at 6 V, 100 ms to differ. */
#include "guard_cut_off_monitor.h"

struct guard_cut_off_monitor {
    struct cut_off_monitor monitor;
};

const uint32_t guard_cut_off_monitor_size = sizeof(struct guard_cut_off_monitor);

void guard_cut_off_monitor_new(struct guard_cut_off_monitor *self)
{
    cut_off_monitor_init(&self->monitor, 100, 3000, 6000);
}

void guard_cut_off_monitor_step(struct guard_cut_off_monitor *self, const int32_t *in, int32_t *out)
{
    out[0] = cut_off_monitor_step(&self->monitor, in[0] != 0, (uint16_t)in[1]);
}
