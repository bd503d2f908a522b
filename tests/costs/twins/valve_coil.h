/* One coil in the fast loop: dither, current control and watch. */
#ifndef VALVE_COIL_H
#define VALVE_COIL_H

#include "valve_coil_monitor.h"
#include "valve_current_loop.h"
#include "valve_dither.h"

struct coil_config {
    struct current_loop_config control;
    uint16_t dither_amplitude;
    uint16_t dither_cycle_ms;
    uint16_t averaging_ms;
    uint16_t tolerance;
    uint16_t offset;
    uint16_t stray;
};

struct coil {
    struct current_loop control;
    struct dither dither;
    struct coil_monitor monitor;
    uint16_t duty;
    uint16_t steps;
    uint32_t currents;
    uint32_t duties;
    uint8_t conditions;
};

/* What the coil did since the last report. */
struct coil_report {
    uint16_t average_current;
    uint16_t average_duty;
    uint16_t reachable;
    uint16_t resistance;
    uint8_t conditions;
};

static inline void coil_init(struct coil *self, const struct coil_config *config)
{
    const struct coil_monitor_config watch = {
        .resistance = config->control.resistance,
        .blanking_ms = (uint16_t)(5 * config->control.time_constant_ms),
        .averaging_ms = config->averaging_ms,
        .tolerance = config->tolerance,
        .offset = config->offset,
        .stray = config->stray,
    };
    current_loop_init(&self->control, &config->control);
    dither_init(&self->dither, config->dither_amplitude, config->dither_cycle_ms);
    coil_monitor_init(&self->monitor, &watch);
    self->duty = 0;
    self->steps = 0;
    self->currents = 0;
    self->duties = 0;
    self->conditions = 0;
}

static inline uint16_t coil_step(struct coil *self, uint16_t set, uint16_t measured, struct reading supply)
{
    uint16_t assumed = (uint16_t)reading_or(supply, self->control.highest_supply);
    self->conditions |= coil_monitor_step(&self->monitor, set, measured, self->duty, assumed);
    uint16_t dithered = dither_step(&self->dither, set);
    if (self->monitor.blind)
        self->duty = current_loop_step_blind(&self->control, set, dithered, supply);
    else
        self->duty = current_loop_step(&self->control, set, dithered, measured, supply);
    if (self->steps < UINT16_MAX) {
        self->currents += measured;
        self->duties += self->duty;
        self->steps++;
    }
    return self->duty;
}

static inline struct coil_report coil_take_report(struct coil *self)
{
    uint32_t steps = self->steps;
    struct coil_report report = {
        .average_current = steps == 0 ? 0 : (uint16_t)((self->currents + steps / 2) / steps),
        .average_duty = steps == 0 ? 0 : (uint16_t)((self->duties + steps / 2) / steps),
        .reachable = current_loop_reachable(&self->control),
        .resistance = current_loop_resistance(&self->control),
        .conditions = self->conditions,
    };
    self->currents = 0;
    self->duties = 0;
    self->steps = 0;
    self->conditions = self->monitor.conditions;
    return report;
}

#endif
