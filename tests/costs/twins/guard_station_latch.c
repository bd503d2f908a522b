/* Two seats, of which one commands: handed over in neutral, after 300 ms. */
#include "twin.h"

#define STATIONS 2
#define NO_STATION (-1)

struct station_state {
    int8_t in_command;
    int8_t waiting;
    bool changed;
};

struct guard_station_latch {
    uint32_t hold_steps;
    uint32_t waited; /* steps since the contender could have taken over */
    int8_t in_command;
    int8_t contender;
};

const uint32_t guard_station_latch_size = sizeof(struct guard_station_latch);

void guard_station_latch_new(struct guard_station_latch *self)
{
    self->hold_steps = steps_of(300, TICK_US);
    self->waited = 0;
    self->in_command = NO_STATION;
    self->contender = NO_STATION;
}

/* The place of the only one that is claimed. */
static inline int8_t alone(const int32_t *claimed)
{
    int8_t only = NO_STATION;
    for (int8_t place = 0; place < STATIONS; place++) {
        if (claimed[place]) {
            if (only != NO_STATION)
                return NO_STATION;
            only = place;
        }
    }
    return only;
}

static inline bool all_of(const int32_t *levels)
{
    for (int place = 0; place < STATIONS; place++) {
        if (!levels[place])
            return false;
    }
    return true;
}

static struct station_state station_latch_step(struct guard_station_latch *self, const int32_t *claimed,
                                               const int32_t *neutral, bool at_rest)
{
    int8_t contender = alone(claimed);
    if (contender == self->in_command)
        contender = NO_STATION;
    bool may = at_rest && all_of(neutral);
    bool waits_on = may && contender != NO_STATION && contender == self->contender;
    if (waits_on && self->waited >= self->hold_steps) {
        self->in_command = contender;
        self->contender = NO_STATION;
        self->waited = 1;
        return (struct station_state){ contender, NO_STATION, true };
    }
    self->contender = may ? contender : NO_STATION;
    self->waited = waits_on ? self->waited + 1 : 1;
    return (struct station_state){ self->in_command, contender, false };
}

static void station_show(int8_t station, int32_t *out)
{
    out[0] = station != NO_STATION;
    out[1] = station != NO_STATION ? station : 0;
}

void guard_station_latch_step(struct guard_station_latch *self, const int32_t *in, int32_t *out)
{
    struct station_state state = station_latch_step(self, in, in + STATIONS, in[2 * STATIONS] != 0);
    station_show(state.in_command, out);
    station_show(state.waiting, out + 2);
    out[4] = state.changed;
}
