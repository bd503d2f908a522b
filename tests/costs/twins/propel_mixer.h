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
    uint32_t linear;
    uint32_t cubic;
    uint32_t pivot_to;
    struct divisor pivot_from;
    struct divisor beyond;
    struct divisor blend_drive;
    int32_t rolling_beyond;
    int32_t resting_within;
    uint8_t law;
    uint8_t convention;
    uint8_t rolling;
};

/* The shares of the config are in thousandths. */
static inline void mixer_init(struct mixer *self, const struct mixer_config *config)
{
    self->linear = (uint32_t)ratio_permille(config->sensitivity);
    self->cubic = RATIO_ONE - self->linear;
    self->pivot_from = divisor_of(ratio_of(2 * config->pivot_point - config->pivot_band, 2000));
    self->pivot_to = (uint32_t)ratio_of(2 * config->pivot_point + config->pivot_band, 2000);
    self->beyond = divisor_of((int32_t)(RATIO_ONE - self->pivot_to));
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

/* From here on steer and speed are magnitudes, so that no product has a sign to round by. */
static inline uint32_t mixer_part(uint32_t value, uint32_t share)
{
    return (uint32_t)(((uint64_t)value * share + (1u << 29)) >> 30);
}

/* Steer after sensitivity: a mean of it and of its cube, rounded once. */
static inline uint32_t mixer_shaped(const struct mixer *self, uint32_t steer)
{
    uint32_t cube = mixer_part(mixer_part(steer, steer), steer);
    uint64_t sum = (uint64_t)steer * self->linear + (uint64_t)cube * self->cubic;
    return (uint32_t)((sum + (1u << 29)) >> 30);
}

/* How far beyond the pivot band: 0 up to its upper end, 1 at full steer. */
static inline uint32_t mixer_beyond_pivot(const struct mixer *self, uint32_t steer)
{
    return steer <= self->pivot_to ? 0 : (uint32_t)divisor_share(&self->beyond, (int32_t)(steer - self->pivot_to));
}

/* Share of rotation in the turn: 0 straight, a half over the pivot band, 1 spin. */
static inline uint32_t mixer_yaw_share(const struct mixer *self, uint32_t steer, uint32_t beyond_pivot)
{
    if (steer < self->pivot_from.whole)
        return ((uint32_t)divisor_share(&self->pivot_from, (int32_t)steer) + 1) / 2;
    return RATIO_ONE / 2 + (beyond_pivot + 1) / 2;
}

/* True when steering right means anticlockwise. */
static inline bool mixer_yaw_is_turned_round(const struct mixer *self, int32_t drive)
{
    if (self->convention != REVERSE_PATH_FOLLOWING || self->rolling == ROLLING_FORWARD)
        return false;
    return self->rolling == ROLLING_REVERSE || drive < 0;
}

static inline int32_t mixer_directed(uint32_t magnitude, bool negative)
{
    return negative ? -(int32_t)magnitude : (int32_t)magnitude;
}

static inline struct sides mixer_banded(const struct mixer *self, int32_t drive, uint32_t steer, bool anticlockwise)
{
    if (drive == 0) {
        int32_t spin = mixer_directed(steer, anticlockwise);
        return (struct sides){ spin, -spin };
    }
    uint32_t speed = (uint32_t)magnitude_32(drive);
    uint32_t curve = mixer_part(speed, mixer_yaw_share(self, steer, mixer_beyond_pivot(self, steer)));
    int32_t travel = mixer_directed(speed - curve, drive < 0);
    int32_t yaw = mixer_directed(curve, anticlockwise != mixer_yaw_is_turned_round(self, drive));
    /* The outer side runs at the speed and the inner one below it, so neither leaves the range. */
    return (struct sides){ travel + yaw, travel - yaw };
}

static inline struct sides mixer_blended(const struct mixer *self, int32_t drive, uint32_t steer, bool anticlockwise)
{
    uint32_t speed = (uint32_t)magnitude_32(drive);
    uint32_t driving = (uint32_t)divisor_share(&self->blend_drive, (int32_t)speed);
    uint32_t beyond_pivot = mixer_beyond_pivot(self, steer);
    uint32_t yaw_share = mixer_yaw_share(self, steer, beyond_pivot);
    uint32_t curve = mixer_part(speed, yaw_share);
    uint32_t left_over = mixer_part(mixer_part(RATIO_ONE - speed, yaw_share), beyond_pivot);

    uint32_t spin = mixer_part(steer, RATIO_ONE - driving);
    uint32_t turn = curve + left_over;
    turn = mixer_part(turn > RATIO_ONE ? RATIO_ONE : turn, driving);
    int32_t travel = mixer_directed(speed - curve, drive < 0);
    int32_t yaw = ratio_plus(mixer_directed(spin, anticlockwise),
                             mixer_directed(turn, anticlockwise != mixer_yaw_is_turned_round(self, drive)));
    return (struct sides){ ratio_plus(travel, yaw), ratio_minus(travel, yaw) };
}

/* The sides for drive and steer, while the machine moves with this travel. */
static inline struct sides mixer_step(struct mixer *self, int32_t drive, int32_t steer, int32_t travel)
{
    self->rolling = (uint8_t)mixer_rolls(self, travel);
    uint32_t shaped = mixer_shaped(self, (uint32_t)magnitude_32(steer));
    if (self->law == MIX_BANDED)
        return mixer_banded(self, drive, shaped, steer < 0);
    return mixer_blended(self, drive, shaped, steer < 0);
}

#endif
