/* From the wires to quantities and their health. */
#ifndef PATH_LOADER_SENSING_H
#define PATH_LOADER_SENSING_H

#include "can_bus_engine.h"
#include "path_loader_words.h"
#include "sense_contact_pair.h"
#include "sense_debounce.h"
#include "sense_pulse_speed.h"
#include "sense_ratiometric.h"
#include "sense_span.h"
#include "sense_speed_comparison.h"
#include "timing_edge.h"

/* Frames ahead of the declared rate, more than which mean that two units have one address. */
#define MOST_FRAMES 4

#define HIGHEST_SUPPLY 16500
#define LOWEST_PLAUSIBLE_SUPPLY 5000
#define HIGHEST_PLAUSIBLE_SUPPLY 20000

/* Speeds are in eighths of a revolution a minute. */
struct senses {
    int32_t supply;
    int32_t coil_supply; /* as read, or the highest plausible */
    int32_t read_back;
    struct sensed rocker; /* 1 is ISO, 0 is H */
    struct sensed engine;
    struct sensed engine_bus;
    struct sensed engine_speed; /* the best of both */
    int32_t engine_expected;
    struct sensed throttle;
    struct sensed left_motor;
    struct sensed right_motor;
    struct sensed charge_pressure;
    struct sensed oil_temperature;
    bool sensor_supply_good;
    bool key_on;
    bool lock_released;
    bool seat_occupied;
    bool bar_down;
    bool brake_off;
    bool emergency_stop;
    bool stop_contacts;
    bool ask;
    bool engine_disagrees;
    bool engine_runs;
    bool engine_stands;
};

struct sensing {
    struct debounce key;
    struct debounce lock;
    struct debounce seat;
    struct debounce bar;
    struct debounce brake;
    struct debounce enable;
    struct edge enable_edge;
    struct contact_pair stop;
    struct contact_pair rocker;
    struct ratiometric sensor;
    struct span pressure;
    struct span temperature;
    struct pulse_speed engine;
    struct bus_engine engine_bus;
    struct speed_comparison comparison;
    struct pulse_speed left_motor;
    struct pulse_speed right_motor;
    int32_t low_idle;
    int32_t high_idle;
    int32_t running_speed;
};

static inline void sensing_init(struct sensing *self)
{
    debounce_init(&self->key, 50, 20);
    debounce_init(&self->lock, 50, 20);
    debounce_init(&self->seat, 100, 700);
    debounce_init(&self->bar, 100, 20);
    debounce_init(&self->brake, 50, 20);
    debounce_init(&self->enable, 30, 30);
    self->enable_edge.before = true;
    contact_pair_init(&self->stop, 100);
    contact_pair_init(&self->rocker, 200);
    self->sensor = (struct ratiometric){ 40, 100, 900, 960, 4750, 5250 };
    self->pressure = (struct span){ 0, 4000 };
    self->temperature = (struct span){ -400, 1400 };
    pulse_speed_init(&self->engine, 120, 200, 4500 * 8);
    arrivals_init(&self->engine_bus.arrivals, 20, 2000, MOST_FRAMES);
    self->engine_bus.speed = 0;
    speed_comparison_init(&self->comparison, 150 * 8, 300);
    pulse_speed_init(&self->left_motor, 36, 200, 2500 * 8);
    pulse_speed_init(&self->right_motor, 36, 200, 2500 * 8);
    self->low_idle = 1000 * 8;
    self->high_idle = 2600 * 8;
    self->running_speed = 500 * 8;
}

static inline int32_t sensed_or(struct sensed sensed, int32_t fallback)
{
    return sensed.health == HEALTH_GOOD ? sensed.value : fallback;
}

static inline bool is_good(struct sensed sensed) { return sensed.health == HEALTH_GOOD; }

/* A reading outside what a 12 V machine can have counts as the highest: the lowest duty follows. */
static inline int32_t plausible_supply(int32_t supply)
{
    return supply < LOWEST_PLAUSIBLE_SUPPLY || supply > HIGHEST_PLAUSIBLE_SUPPLY ? HIGHEST_SUPPLY : supply;
}

static inline struct sensed motor_step(struct pulse_speed *motor, int32_t edges, int32_t stamp, bool reverse)
{
    struct sensed speed = pulse_speed_step(motor, (uint16_t)edges, (uint32_t)stamp);
    if (reverse)
        speed.value = -speed.value;
    return speed;
}

static inline struct sensed spanned(struct sensed share, const struct span *span)
{
    return is_good(share) ? sensed_good(span_at(span, share.value)) : share;
}

static inline void sense_contacts(struct sensing *self, const int32_t *in, struct senses *out)
{
    out->key_on = debounce_step(&self->key, in[IN_KEY] != 0);
    out->lock_released = debounce_step(&self->lock, in[IN_LOCK_RELEASED] != 0);
    out->seat_occupied = debounce_step(&self->seat, in[IN_SEAT] != 0);
    out->bar_down = debounce_step(&self->bar, in[IN_BAR_DOWN] != 0);
    out->brake_off = debounce_step(&self->brake, in[IN_BRAKE_OFF] != 0);
    out->ask = edge_step(&self->enable_edge, debounce_step(&self->enable, in[IN_ENABLE] != 0));
    bool first = in[IN_STOP_FIRST] != 0;
    bool second = in[IN_STOP_SECOND] != 0;
    out->emergency_stop = !first || !second;
    out->stop_contacts = !is_good(contact_pair_step(&self->stop, !first, second));
    out->rocker = contact_pair_step(&self->rocker, in[IN_PATTERN_H] != 0, in[IN_PATTERN_ISO] != 0);
}

static inline void sense_engine(struct sensing *self, const int32_t *in, struct senses *out)
{
    out->engine = pulse_speed_step(&self->engine, (uint16_t)in[IN_ENGINE_EDGES], (uint32_t)in[IN_ENGINE_STAMP]);
    out->engine_bus = bus_engine_step(&self->engine_bus, double_word(&in[IN_ENGINE_FRAME]),
                                      (uint8_t)in[IN_ENGINE_FRAME_COUNT]);
    out->engine_disagrees = speed_comparison_step(&self->comparison, out->engine, out->engine_bus);
    out->engine_speed = is_good(out->engine) ? out->engine : out->engine_bus;
    out->engine_runs = sensed_or(out->engine_speed, 0) >= self->running_speed;
    out->engine_stands = is_good(out->engine_speed) && sensed_or(out->engine, 0) < self->running_speed &&
                         sensed_or(out->engine_bus, 0) < self->running_speed;
}

static inline void sense_analog(struct sensing *self, const int32_t *in, struct senses *out)
{
    const int32_t supply = in[IN_SENSOR_SUPPLY];
    out->supply = in[IN_SUPPLY];
    out->coil_supply = plausible_supply(in[IN_SUPPLY]);
    out->read_back = in[IN_READ_BACK];
    out->sensor_supply_good = supply >= self->sensor.supply_low && supply <= self->sensor.supply_high;
    out->throttle = ratiometric_step(&self->sensor, in[IN_THROTTLE], supply);
    int32_t throttle = sensed_or(out->throttle, RATIO_ONE);
    out->engine_expected =
        self->low_idle + (int32_t)rounded_shift((int64_t)(self->high_idle - self->low_idle) * throttle, 30);
    out->charge_pressure = spanned(ratiometric_step(&self->sensor, in[IN_PRESSURE], supply), &self->pressure);
    out->oil_temperature = spanned(ratiometric_step(&self->sensor, in[IN_TEMPERATURE], supply), &self->temperature);
}

static inline void sensing_step(struct sensing *self, const int32_t *in, struct senses *out)
{
    sense_contacts(self, in, out);
    sense_engine(self, in, out);
    sense_analog(self, in, out);
    out->left_motor =
        motor_step(&self->left_motor, in[IN_LEFT_EDGES], in[IN_LEFT_STAMP], in[IN_LEFT_REVERSE] != 0);
    out->right_motor =
        motor_step(&self->right_motor, in[IN_RIGHT_EDGES], in[IN_RIGHT_STAMP], in[IN_RIGHT_REVERSE] != 0);
}

#endif
