/* From intent to the two sides of the drive, and to the speed that is asked of the engine. */
#ifndef PATH_LOADER_DRIVE_H
#define PATH_LOADER_DRIVE_H

#include "guard_derate.h"
#include "path_loader_permission.h"
#include "propel_anti_stall.h"
#include "propel_engine_speed_request.h"
#include "propel_mixer.h"
#include "propel_speed_limits.h"
#include "propel_trim.h"
#include "propel_two_speed.h"
#include "ramp_derate_ramp.h"
#include "ramp_pair_ramp.h"

/* Periods between two speed requests, and messages that give the engine back. */
#define REQUEST_PERIODS 5
#define REQUEST_RELEASES 3

struct drive_inputs {
    const struct intent *intent;
    enum pattern pattern;
    bool permitted;
    bool current_unreachable;
    bool limited;
    bool two_speed_pressed;
    bool at_rest;
};

struct drive_command {
    struct sides mix;
    struct sides ramp;
    struct sides sides; /* after all shares: what the pumps are asked for */
    int32_t load_share;
    int32_t temperature_share;
    int32_t reach_share;
    uint8_t state; /* of the machine */
    uint8_t phase; /* of the ramp */
    bool two_speed;
};

struct drive {
    struct speed_limits limits;
    struct mixer mixer;
    struct trim trim;
    struct pair_ramp ramp;
    struct anti_stall anti_stall;
    struct derate cold;
    int32_t cold_share;
    struct derate_ramp reach_derate;
    struct derate_ramp cold_derate;
    struct derate_ramp fault_derate;
    int32_t limited_share;
    int32_t rotation;
    struct divisor blend;
    struct two_speed two_speed;
    bool two_speed_wanted;
    int32_t share;
};

struct engine_request {
    struct engine_speed_request speed;
    int32_t speed_asked;
    bool asked;
    uint8_t wait;
    uint8_t releases;
    uint8_t count; /* of the messages */
};

static inline void drive_init(struct drive *self)
{
    static const struct mixer_config mixer = {
        .law = MIX_BLENDED,
        .convention = REVERSE_YAW_FIXED,
        .pivot_point = 500,
        .pivot_band = 100,
        .sensitivity = 1000,
        .blend_drive = 200,
        .reverse_blend = 150,
    };
    speed_limits_init(&self->limits, 1000, 800, 700);
    mixer_init(&self->mixer, &mixer);
    trim_init(&self->trim, 0, 0);
    self->ramp.forward = motion_rates_of(1800, 1200, 1000, TICK_US);
    self->ramp.reverse = motion_rates_of(2000, 1300, 1100, TICK_US);
    self->ramp.rotation = motion_rates_of(1300, 800, 700, TICK_US);
    self->ramp.stop = fine_rate(1000, TICK_US);
    self->ramp.dwell = 0;
    pair_ramp_reset(&self->ramp);
    anti_stall_init(&self->anti_stall, 120, 300, 150, 1500);
    derate_init(&self->cold, -150, 400, 100, 1000);
    self->cold_share = ratio_permille(400);
    derate_ramp_init(&self->reach_derate, 2000, 10000);
    derate_ramp_init(&self->cold_derate, 2000, 10000);
    derate_ramp_init(&self->fault_derate, 2000, 10000);
    self->limited_share = ratio_permille(500);
    self->rotation = ratio_permille(700);
    self->blend = divisor_of(ratio_permille(200));
    two_speed_init(&self->two_speed, 300, 600, 500);
    self->two_speed_wanted = false;
    self->share = 0;
}

/* Nothing moves and nothing resumes. */
static inline void drive_reset(struct drive *self)
{
    pair_ramp_reset(&self->ramp);
    self->share = 0;
}

static inline bool drive_at_zero(const struct drive *self)
{
    struct sides output = pair_ramp_output(&self->ramp);
    return output.left == 0 && output.right == 0;
}

/* In a spin the whole steer travel spreads over the allowed rotation; while driving it keeps its place. */
static inline int32_t drive_steer(const struct drive *self, int32_t drive, int32_t steer)
{
    int32_t driving = divisor_share(&self->blend, ratio_magnitude(drive));
    int32_t spared = ratio_times(RATIO_ONE - self->rotation, driving);
    return ratio_times(steer, ratio_plus(self->rotation, spared));
}

static inline struct sides drive_mix(struct drive *self, const struct drive_inputs *inputs)
{
    const struct intent *intent = inputs->intent;
    struct sides sides = { intent->left_side, intent->right_side };
    if (inputs->pattern != PATTERN_H) {
        int32_t drive = speed_limits_drive(&self->limits, intent->drive);
        int32_t steer = drive_steer(self, intent->drive, intent->steer);
        sides = mixer_step(&self->mixer, drive, steer, sides_mean(pair_ramp_output(&self->ramp)));
    }
    return trim_step(&self->trim, speed_limits_apply(&self->limits, sides));
}

static inline bool drive_shift(struct drive *self, const struct drive_inputs *inputs, struct sides ramp)
{
    if (inputs->two_speed_pressed)
        self->two_speed_wanted = !self->two_speed_wanted;
    /* Larger displacement brakes: after a stop the range waits until the machine is found at rest. */
    int32_t speed = inputs->at_rest ? 0 : RATIO_ONE;
    if (inputs->permitted)
        speed = ratio_magnitude(sides_mean(ramp));
    else
        self->two_speed_wanted = false;
    const struct two_speed_inputs shift = {
        .request = self->two_speed_wanted,
        .permitted = inputs->permitted,
        .turning = ratio_magnitude(sides_half_difference(ramp)),
        .speed = speed,
    };
    return two_speed_step(&self->two_speed, &shift);
}

static inline void drive_step(struct drive *self, const struct drive_inputs *inputs, const struct senses *senses,
                              struct drive_command *out)
{
    out->mix = (struct sides){ 0, 0 };
    if (inputs->permitted)
        out->mix = drive_mix(self, inputs);
    out->ramp = pair_ramp_step(&self->ramp, out->mix, !inputs->permitted);
    const struct reading speed = { is_good(senses->engine_speed), senses->engine_speed.value };
    out->load_share = anti_stall_step(&self->anti_stall, senses->engine_expected, speed);
    int32_t cold = self->cold_share;
    if (is_good(senses->oil_temperature))
        cold = derate_step(&self->cold, senses->oil_temperature.value);
    out->temperature_share = derate_ramp_step(&self->cold_derate, cold);
    out->reach_share =
        derate_ramp_step(&self->reach_derate, inputs->current_unreachable ? self->limited_share : RATIO_ONE);
    int32_t fault_share =
        derate_ramp_step(&self->fault_derate, inputs->limited ? self->limited_share : RATIO_ONE);
    /* In a stop the share rests: the ramp alone takes both sides to zero. */
    if (inputs->permitted) {
        int32_t share = at_most(RATIO_ONE, out->load_share);
        share = at_most(share, out->temperature_share);
        share = at_most(share, out->reach_share);
        self->share = at_most(share, fault_share);
    }
    out->sides = sides_scaled(out->ramp, self->share);
    out->state = (uint8_t)pair_ramp_state(&self->ramp);
    out->phase = self->ramp.phase;
    out->two_speed = drive_shift(self, inputs, out->ramp);
}

static inline void engine_request_init(struct engine_request *self)
{
    engine_speed_request_init(&self->speed, 1000 * 8, 2600 * 8, 1000, 5000);
    self->speed_asked = 0;
    self->asked = false;
    self->wait = 0;
    self->releases = 0;
    self->count = 0;
}

/* More than the throttle while droop takes from the drive: as much of the way to high idle as droop has taken. */
static inline void engine_request_step(struct engine_request *self, bool permitted, const struct senses *senses,
                                       int32_t load_share)
{
    bool before = self->asked;
    self->asked = false;
    self->speed_asked = 0;
    if (permitted) {
        int32_t hand = sensed_or(senses->throttle, 0);
        int32_t taken = RATIO_ONE - load_share;
        int32_t least = 0;
        if (is_good(senses->throttle))
            least = ratio_plus(hand, ratio_times(ratio_minus(RATIO_ONE, hand), taken));
        int32_t speed = engine_speed_request_step(&self->speed, hand, 0, least, RATIO_ONE);
        if (speed > senses->engine_expected) {
            self->asked = true;
            self->speed_asked = speed;
        }
    } else {
        self->speed.share = 0;
    }
    if (before != self->asked) {
        self->wait = 0;
        self->releases = self->asked ? 0 : REQUEST_RELEASES;
    }
}

#endif
