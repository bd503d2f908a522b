/* Drive and steer to left and right. */
#ifndef PROPEL_MIXER_H
#define PROPEL_MIXER_H

#include "propel_sides.h"

enum mix_law { MIX_BANDED, MIX_BLENDED };
enum reverse_convention { REVERSE_PATH_FOLLOWING, REVERSE_YAW_FIXED };
enum rolling { ROLLING_REST, ROLLING_FORWARD, ROLLING_REVERSE };

struct mixer_config {
    enum mix_law law;
    enum reverse_convention convention;
    int32_t pivot_point;
    int32_t pivot_band;
    int32_t sensitivity;
    int32_t blend_drive;
    int32_t reverse_blend;
};

struct mixer {
    int32_t linear;
    int32_t cubic;
    int32_t pivot_to;
    struct divisor pivot_from;
    struct divisor beyond;
    struct divisor blend_drive;
    int32_t rolling_beyond;
    int32_t resting_within;
    uint8_t law;
    uint8_t convention;
    uint8_t rolling;
};

#define MIXER_HALF (RATIO_ONE / 2)

/* The shares of the config are in thousandths. */
static inline void mixer_init(struct mixer *self, const struct mixer_config *config)
{
    self->linear = ratio_permille(config->sensitivity);
    self->cubic = RATIO_ONE - self->linear;
    self->pivot_from = divisor_of(ratio_of(2 * config->pivot_point - config->pivot_band, 2000));
    self->pivot_to = ratio_of(2 * config->pivot_point + config->pivot_band, 2000);
    self->beyond = divisor_of(RATIO_ONE - self->pivot_to);
    self->blend_drive = divisor_of(ratio_permille(config->blend_drive));
    self->rolling_beyond = ratio_permille(config->reverse_blend);
    self->resting_within = ratio_of(config->reverse_blend, 4000);
    self->law = (uint8_t)config->law;
    self->convention = (uint8_t)config->convention;
    self->rolling = ROLLING_REST;
}

static inline enum rolling mixer_rolls(const struct mixer *self, int32_t travel)
{
    if (travel >= self->rolling_beyond || (self->rolling == ROLLING_FORWARD && travel > self->resting_within))
        return ROLLING_FORWARD;
    if (travel <= -self->rolling_beyond || (self->rolling == ROLLING_REVERSE && travel < -self->resting_within))
        return ROLLING_REVERSE;
    return ROLLING_REST;
}

static inline int32_t mixer_shaped(const struct mixer *self, int32_t steer)
{
    int32_t cube = ratio_times(ratio_times(steer, steer), steer);
    /* A mean of two numbers of at most 1, rounded once. */
    return (int32_t)rounded_shift((int64_t)steer * self->linear + (int64_t)cube * self->cubic, 30);
}

/* How far beyond the pivot band: 0 up to its upper end, 1 at full steer. */
static inline int32_t mixer_beyond_pivot(const struct mixer *self, int32_t magnitude)
{
    return magnitude <= self->pivot_to ? 0 : divisor_share(&self->beyond, magnitude - self->pivot_to);
}

/* Share of rotation in the turn: 0 straight, a half over the pivot band, 1 spin. */
static inline int32_t mixer_yaw_share(const struct mixer *self, int32_t magnitude, int32_t beyond_pivot)
{
    if ((uint32_t)magnitude < self->pivot_from.whole)
        return ratio_times(MIXER_HALF, divisor_share(&self->pivot_from, magnitude));
    return MIXER_HALF + ratio_times(MIXER_HALF, beyond_pivot);
}

/* True when steering right means anticlockwise. */
static inline bool mixer_yaw_is_turned_round(const struct mixer *self, int32_t drive)
{
    if (self->convention != REVERSE_PATH_FOLLOWING || self->rolling == ROLLING_FORWARD)
        return false;
    return self->rolling == ROLLING_REVERSE || drive < 0;
}

static inline struct sides mixer_combined(int32_t drive, int32_t speed, int32_t yaw)
{
    int32_t travel = ratio_directed_as(speed, drive);
    return (struct sides){ ratio_plus(travel, yaw), ratio_minus(travel, yaw) };
}

static inline struct sides mixer_banded(const struct mixer *self, int32_t drive, int32_t steer)
{
    if (drive == 0)
        return (struct sides){ steer, -steer };
    int32_t speed = magnitude_32(drive);
    int32_t magnitude = magnitude_32(steer);
    int32_t share = mixer_yaw_share(self, magnitude, mixer_beyond_pivot(self, magnitude));
    int32_t curve = ratio_times(speed, share);
    int32_t yaw = ratio_directed_as(curve, steer);
    return mixer_combined(drive, speed - curve, mixer_yaw_is_turned_round(self, drive) ? -yaw : yaw);
}

static inline struct sides mixer_blended(const struct mixer *self, int32_t drive, int32_t steer)
{
    int32_t speed = magnitude_32(drive);
    int32_t magnitude = magnitude_32(steer);
    int32_t driving = divisor_share(&self->blend_drive, speed);
    int32_t beyond_pivot = mixer_beyond_pivot(self, magnitude);
    int32_t yaw_share = mixer_yaw_share(self, magnitude, beyond_pivot);
    int32_t curve = ratio_times(speed, yaw_share);
    int32_t left_over = ratio_times(ratio_times(RATIO_ONE - speed, yaw_share), beyond_pivot);

    int32_t spin = ratio_times(steer, RATIO_ONE - driving);
    int32_t turn = ratio_directed_as(ratio_times(ratio_plus(curve, left_over), driving), steer);
    if (mixer_yaw_is_turned_round(self, drive))
        turn = -turn;
    return mixer_combined(drive, speed - curve, ratio_plus(spin, turn));
}

/* The sides for drive and steer, while the machine moves with this travel. */
static inline struct sides mixer_step(struct mixer *self, int32_t drive, int32_t steer, int32_t travel)
{
    self->rolling = (uint8_t)mixer_rolls(self, travel);
    steer = mixer_shaped(self, steer);
    return self->law == MIX_BANDED ? mixer_banded(self, drive, steer) : mixer_blended(self, drive, steer);
}

#endif
