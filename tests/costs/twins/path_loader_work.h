/* From intent to boom, bucket and auxiliary, and from commands to currents. */
#ifndef PATH_LOADER_WORK_H
#define PATH_LOADER_WORK_H

#include "path_loader_permission.h"
#include "ramp_motion_ramp.h"
#include "ramp_rate_limit.h"
#include "valve_current_map.h"
#include "work_continuous_flow.h"
#include "work_float.h"

struct work_command {
    int32_t boom;
    int32_t bucket;
    int32_t auxiliary;
    bool boom_float;
    bool continuous;
};

struct work {
    struct motion_ramp boom;
    struct motion_ramp bucket;
    struct rate_limit auxiliary;
    struct boom_float boom_float;
    struct continuous_flow continuous;
};

static inline void spool_ramp_init(struct motion_ramp *self)
{
    self->positive = motion_rates_of(350, 200, 200, TICK_US);
    self->negative = motion_rates_of(350, 200, 200, TICK_US);
    self->dwell = 0;
    motion_ramp_reset(self);
}

static inline void work_init(struct work *self)
{
    spool_ramp_init(&self->boom);
    spool_ramp_init(&self->bucket);
    rate_limit_init(&self->auxiliary, 500, 500);
    boom_float_init(&self->boom_float, 50);
    continuous_flow_init(&self->continuous, 700, 50);
}

/* Boom and bucket: nothing moves and nothing resumes. */
static inline void work_reset(struct work *self)
{
    motion_ramp_reset(&self->boom);
    motion_ramp_reset(&self->bucket);
    self->boom_float.on = false;
}

static inline void auxiliary_reset(struct work *self)
{
    self->auxiliary.position = 0;
    self->continuous.mode = FLOW_WAITING;
}

static inline bool work_at_zero(const struct work *self)
{
    return motion_ramp_output(&self->boom) == 0 && motion_ramp_output(&self->bucket) == 0 && !self->boom_float.on;
}

static inline bool auxiliary_at_zero(const struct work *self) { return fine_to_ratio(self->auxiliary.position) == 0; }

static inline void work_step(struct work *self, const struct wanted *wanted, const struct permissions *permissions,
                             struct work_command *out)
{
    bool work_permitted = permissions->work.permitted;
    bool auxiliary_permitted = permissions->auxiliary.permitted;
    int32_t boom = work_permitted ? wanted->intent.boom : 0;
    int32_t bucket = work_permitted ? wanted->intent.bucket : 0;
    out->boom_float = boom_float_step(&self->boom_float, wanted->float_pressed, boom, work_permitted);
    int32_t flow = continuous_flow_step(&self->continuous, wanted->continuous_pressed, wanted->auxiliary,
                                        auxiliary_permitted);
    out->boom = motion_ramp_step(&self->boom, out->boom_float ? 0 : boom);
    out->bucket = motion_ramp_step(&self->bucket, bucket);
    out->auxiliary = rate_limit_step(&self->auxiliary, auxiliary_permitted ? flow : 0);
    out->continuous = self->continuous.mode == FLOW_CONTINUOUS;
}

struct valves {
    struct current_map maps[COILS];
};

static inline void valves_init(struct valves *self)
{
    static const struct current_map maps[COILS] = {
        { 420, 1150 }, { 420, 1150 }, { 420, 1150 }, { 420, 1150 }, { 380, 1050 }, { 380, 900 },
        { 500, 1200 }, { 380, 1050 }, { 380, 1050 }, { 350, 1100 }, { 350, 1100 },
    };
    for (uint32_t coil = 0; coil < COILS; coil++)
        self->maps[coil] = maps[coil];
}

/* Which current each coil is asked for. */
static inline void valves_step(const struct valves *self, struct sides sides, const struct work_command *work,
                               uint16_t *currents)
{
    const int32_t commands[COILS] = {
        sides.left,   -sides.left,  sides.right,  -sides.right,    work->boom,       -work->boom,
        work->boom_float ? RATIO_ONE : 0,         -work->bucket,   work->bucket,     work->auxiliary, -work->auxiliary,
    };
    for (uint32_t coil = 0; coil < COILS; coil++)
        currents[coil] = current_map_step(&self->maps[coil], commands[coil]);
}

/* The last gate: a group whose gate is not open gets no current. */
static inline void gate_currents(const struct gates *gates, uint16_t *currents)
{
    if (gates->drive != GATE_OPEN) {
        for (uint32_t coil = 0; coil < DRIVE_COILS; coil++)
            currents[coil] = 0;
    }
    if (gates->work != GATE_OPEN) {
        for (uint32_t coil = DRIVE_COILS; coil < WORK_COILS; coil++)
            currents[coil] = 0;
    }
    if (gates->auxiliary != GATE_OPEN) {
        for (uint32_t coil = WORK_COILS; coil < COILS; coil++)
            currents[coil] = 0;
    }
}

static inline uint16_t largest_current(const int32_t *in, uint32_t from, uint32_t to)
{
    uint16_t largest = 0;
    for (uint32_t coil = from; coil < to; coil++) {
        uint16_t current = report_current(in, coil);
        if (current > largest)
            largest = current;
    }
    return largest;
}

#endif
