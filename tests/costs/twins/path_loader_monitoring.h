/* From symptoms to the conditions of the fault table. */
#ifndef PATH_LOADER_MONITORING_H
#define PATH_LOADER_MONITORING_H

#include "guard_cut_off_monitor.h"
#include "guard_last_gate.h"
#include "path_loader_faults.h"
#include "path_loader_levers.h"
#include "propel_sides.h"
#include "valve_coil_monitor.h"
#include "valve_start_up_test.h"

struct gates {
    enum gate drive;
    enum gate work;
    enum gate auxiliary;
};

/* What the last period did, for conditions that need it. */
struct last_period {
    bool coil_supply;
    bool start_permit;
    struct gates gates; /* closed before the first period */
    struct sides sides; /* as the pumps were asked */
    uint16_t asked[COILS];
};

struct monitoring {
    struct cut_off_monitor cut_off;
    int32_t supply_low;
    int32_t supply_high;
    int32_t charge_low;
    int32_t hot_oil;
    uint16_t stray;
    uint16_t asked[COILS]; /* in the last period and in the one before */
    uint16_t asked_before[COILS];
    bool parameters_replaced;
    uint8_t bus_lost;
    uint32_t periods;
    uint32_t start_up_steps;
    uint32_t decay_steps;
};

static inline void monitoring_init(struct monitoring *self)
{
    cut_off_monitor_init(&self->cut_off, 100, 3000, 6000);
    self->supply_low = 9000;
    self->supply_high = 16500;
    self->charge_low = 1200;
    self->hot_oil = 950;
    self->stray = 150;
    for (uint32_t coil = 0; coil < COILS; coil++) {
        self->asked[coil] = 0;
        self->asked_before[coil] = 0;
    }
    self->parameters_replaced = false;
    self->bus_lost = 0;
    self->periods = 0;
    self->start_up_steps = steps_of(2000, TICK_US);
    self->decay_steps = steps_of(50, TICK_US);
}

static inline bool supply_good(const struct monitoring *self, const struct senses *senses)
{
    return senses->supply >= self->supply_low;
}

static inline bool charge_good(const struct monitoring *self, const struct senses *senses)
{
    return is_good(senses->charge_pressure) && senses->charge_pressure.value >= self->charge_low;
}

/* Known to be gone: a sensor that fails says nothing of the pressure. */
static inline bool charge_lost(const struct monitoring *self, const struct senses *senses)
{
    return is_good(senses->charge_pressure) && senses->charge_pressure.value < self->charge_low;
}

static inline void monitor_controller(struct monitoring *self, struct fault_set *conditions, const int32_t *in,
                                      const struct senses *senses, const struct start_up_test *test,
                                      const struct last_period *last)
{
    bool good = supply_good(self, senses);
    /* A supply that is down itself says nothing of the relay. */
    bool agrees = cut_off_monitor_step(&self->cut_off, last->coil_supply, (uint16_t)senses->read_back) ||
                  !start_up_supply_proven(test) || (last->coil_supply && !good);
    bool disagree = last->gates.drive == GATE_DISAGREES || last->gates.work == GATE_DISAGREES ||
                    last->gates.auxiliary == GATE_DISAGREES;
    uint8_t bus_lost = (uint8_t)in[IN_BUS_LOST];
    fault_set_add(conditions, FAULT_EMERGENCY_STOP, senses->emergency_stop);
    fault_set_add(conditions, FAULT_EMERGENCY_STOP_CONTACTS, senses->stop_contacts);
    fault_set_add(conditions, FAULT_CUT_OFF_STUCK_ON,
                  test->cut_off.state == CUT_OFF_STUCK_ON || (!agrees && !last->coil_supply));
    fault_set_add(conditions, FAULT_CUT_OFF_STUCK_OFF,
                  test->cut_off.state == CUT_OFF_STUCK_OFF || (!agrees && last->coil_supply));
    fault_set_add(conditions, FAULT_GATE_DISAGREES, disagree);
    fault_set_add(conditions, FAULT_PARAMETERS_REPLACED, self->parameters_replaced);
    fault_set_add(conditions, FAULT_PERIODS_MISSED, in[IN_MISSED] > 0);
    fault_set_add(conditions, FAULT_BUS_OVERRUN, bus_lost != self->bus_lost);
    fault_set_add(conditions, FAULT_BUS_OFF, in[IN_BUS_OFF] != 0);
    self->bus_lost = bus_lost;
    fault_set_add(conditions, FAULT_SUPPLY_LOW, !good && !last->start_permit);
    fault_set_add(conditions, FAULT_SUPPLY_HIGH, senses->supply > self->supply_high);
    fault_set_add(conditions, FAULT_SENSOR_SUPPLY, !senses->sensor_supply_good);
}

/* The faults of a lever follow one another from `first` on. */
static inline void monitor_lever(struct fault_set *conditions, enum frame_flaw flaw, uint32_t first)
{
    switch (flaw) {
    case FRAME_WAITING:
    case FRAME_SOUND:
        return;
    case FRAME_NEVER_SEEN:
        break;
    case FRAME_LOST:
        first += 1;
        break;
    case FRAME_ERROR_VALUE:
    case FRAME_NOT_AVAILABLE:
    case FRAME_RESERVED:
        first += 2;
        break;
    case FRAME_INCONSISTENT:
        first += 3;
        break;
    case FRAME_DUPLICATED:
        first += 4;
        break;
    }
    fault_set_add(conditions, first, true);
}

/* A side without pulses, although both are driven and the other turns: both may stall, a wire breaks on one. */
static inline bool motor_is_silent(struct sensed motor, int32_t asked, struct sensed other, int32_t other_asked)
{
    const int32_t surely_moving = ratio_permille(250);
    const int32_t surely_turning = 100 * 8;
    if (!is_good(motor))
        return true;
    return motor.value == 0 && magnitude_32(asked) >= surely_moving && magnitude_32(other_asked) >= surely_moving &&
           magnitude_32(sensed_or(other, 0)) >= surely_turning;
}

static inline void monitor_engine(const struct monitoring *self, struct fault_set *conditions,
                                  const struct senses *senses, const struct last_period *last)
{
    bool started_up = self->periods > self->start_up_steps;
    fault_set_add(conditions, FAULT_ENGINE_PICKUP, !is_good(senses->engine));
    fault_set_add(conditions, FAULT_ENGINE_SPEED_DISAGREES, senses->engine_disagrees);
    fault_set_add(conditions, FAULT_ENGINE_CONTROLLER_LOST, started_up && !is_good(senses->engine_bus));
    fault_set_add(conditions, FAULT_HAND_THROTTLE_SENSOR, !is_good(senses->throttle));
    fault_set_add(conditions, FAULT_LEFT_MOTOR_PICKUP,
                  motor_is_silent(senses->left_motor, last->sides.left, senses->right_motor, last->sides.right));
    fault_set_add(conditions, FAULT_RIGHT_MOTOR_PICKUP,
                  motor_is_silent(senses->right_motor, last->sides.right, senses->left_motor, last->sides.left));
}

static inline void monitor_hydraulics(const struct monitoring *self, struct fault_set *conditions,
                                      const struct senses *senses)
{
    fault_set_add(conditions, FAULT_CHARGE_PRESSURE_SENSOR, !is_good(senses->charge_pressure));
    fault_set_add(conditions, FAULT_CHARGE_PRESSURE_LOW, senses->engine_runs && charge_lost(self, senses));
    fault_set_add(conditions, FAULT_OIL_TEMPERATURE_SENSOR, !is_good(senses->oil_temperature));
    fault_set_add(conditions, FAULT_OIL_HOT,
                  is_good(senses->oil_temperature) && senses->oil_temperature.value > self->hot_oil);
}

/* Seldom. Whether a coil carries a current that is not asked for. */
static inline bool coils_wrong(struct fault_set *conditions, const int32_t *in, uint32_t opened)
{
    uint32_t drive = 0;
    uint32_t rest = 0;
    bool stray = false;
    for (uint32_t coil = 0; coil < COILS; coil++) {
        uint32_t found = report_conditions(in, coil);
        bool deviation = (found & COIL_DEVIATION) != 0 && (found & COIL_UNREACHABLE) == 0;
        fault_set_add(conditions, FAULT_COIL_OPEN + coil, (found & COIL_OPEN) != 0 || (opened >> coil & 1u) != 0);
        fault_set_add(conditions, FAULT_COIL_SHORT + coil, (found & COIL_SHORT) != 0);
        fault_set_add(conditions, FAULT_COIL_CURRENT + coil, deviation);
        if (coil < DRIVE_COILS)
            drive |= found;
        else
            rest |= found;
        stray |= (found & COIL_STRAY) != 0;
    }
    fault_set_add(conditions, FAULT_DRIVE_CURRENT_UNREACHABLE, (drive & COIL_UNREACHABLE) != 0);
    fault_set_add(conditions, FAULT_WORK_CURRENT_UNREACHABLE, (rest & COIL_UNREACHABLE) != 0);
    return stray;
}

static inline bool monitor_coils(struct fault_set *conditions, const int32_t *in, const struct start_up_test *test)
{
    uint32_t opened = start_up_open_coils(test);
    uint32_t anything = opened;
    for (uint32_t coil = 0; coil < COILS; coil++)
        anything |= report_conditions(in, coil);
    return anything != 0 && coils_wrong(conditions, in, opened);
}

/* Clearly more than the largest that was asked for in three periods; what is not asked for at all is another matter. */
static inline bool excess_current(struct monitoring *self, const uint16_t *asked, const int32_t *in)
{
    bool excess = false;
    for (uint32_t coil = 0; coil < COILS; coil++) {
        uint32_t current = report_current(in, coil);
        if (current > self->stray) {
            uint32_t largest = asked[coil];
            if (self->asked[coil] > largest)
                largest = self->asked[coil];
            if (self->asked_before[coil] > largest)
                largest = self->asked_before[coil];
            excess |= largest != 0 && current > largest + largest / 8 + self->stray;
        }
        self->asked_before[coil] = self->asked[coil];
        self->asked[coil] = asked[coil];
    }
    return excess;
}

static inline void monitoring_step(struct monitoring *self, const int32_t *in, const struct senses *senses,
                                   const struct received *received, const struct start_up_test *test,
                                   const struct last_period *last, struct fault_set *conditions)
{
    if (self->periods < UINT32_MAX)
        self->periods++;
    *conditions = (struct fault_set){ { 0 } };
    monitor_controller(self, conditions, in, senses, test, last);
    /* The left thumb-wheel works nothing: its message is not relied upon. */
    monitor_lever(conditions, received->left.flaw, FAULT_LEFT_LEVER_NEVER_SEEN);
    monitor_lever(conditions, received->right.flaw, FAULT_RIGHT_LEVER_NEVER_SEEN);
    monitor_lever(conditions, received->right.wheel_flaw, FAULT_RIGHT_LEVER_NEVER_SEEN);
    fault_set_add(conditions, FAULT_PATTERN_ROCKER, !is_good(senses->rocker));
    monitor_engine(self, conditions, senses, last);
    monitor_hydraulics(self, conditions, senses);
    bool found = monitor_coils(conditions, in, test);
    bool stray = excess_current(self, last->asked, in) || found;
    /* A controller that starts anew while a coil is driven finds a current that nobody asks for any more. */
    fault_set_add(conditions, FAULT_STRAY_CURRENT, stray && self->periods > self->decay_steps);
}

#endif
