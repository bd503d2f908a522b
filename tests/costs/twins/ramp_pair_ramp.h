/* Both sides as a pair, so that a ramp never bends the path. */
#ifndef RAMP_PAIR_RAMP_H
#define RAMP_PAIR_RAMP_H

#include "propel_sides.h"
#include "ramp_fine.h"

/* Left and right on the fine scale; their sum is twice the travel, their difference twice the rotation. */
struct pair {
    int64_t left;
    int64_t right;
};

struct pair_ramp {
    struct motion_rates forward;
    struct motion_rates reverse;
    struct motion_rates rotation;
    int64_t stop;
    struct pair present;
    struct pair came_from;
    uint32_t dwell;
    uint32_t rested;
    uint8_t phase;
};

#define PAIR_DOUBLE_ONE (2 * FINE_ONE)

static inline int64_t pair_sum(struct pair pair) { return pair.left + pair.right; }
static inline int64_t pair_difference(struct pair pair) { return pair.left - pair.right; }
static inline bool pair_is_zero(struct pair pair) { return pair.left == 0 && pair.right == 0; }
static inline int64_t pair_largest(struct pair pair) { return at_least_64(magnitude_64(pair.left), magnitude_64(pair.right)); }

/* Travel against travel, or spin against spin. */
static inline bool pair_opposes(struct pair pair, struct pair other)
{
    int64_t sum = pair_sum(pair);
    int64_t other_sum = pair_sum(other);
    if (sum == 0 && other_sum == 0)
        return opposed_64(pair_difference(pair), pair_difference(other));
    return opposed_64(sum, other_sum);
}

static inline struct pair pair_scaled(struct pair pair, int64_t numerator, int64_t denominator)
{
    return (struct pair){ fine_scaled(pair.left, numerator, denominator),
                          fine_scaled(pair.right, numerator, denominator) };
}

/* Towards zero with one factor for both sides: neither travel nor rotation falls faster than its rate. */
static inline struct pair pair_towards_zero(struct pair pair, int64_t drive, int64_t rotation)
{
    int64_t travel = magnitude_64(pair_sum(pair));
    int64_t turn = magnitude_64(pair_difference(pair));
    int64_t less_travel = at_least_64(travel - 2 * drive, 0);
    int64_t less_turn = at_least_64(turn - 2 * rotation, 0);
    if (travel == 0 || fine_scaled(turn, less_travel, travel) < less_turn)
        return pair_scaled(pair, less_turn, turn);
    return pair_scaled(pair, less_travel, travel);
}

/* The present and the asked motion, mirrored so that what is asked is forward and clockwise. */
struct on_way {
    int64_t travel;
    int64_t turn;
    int64_t asked_travel;
    int64_t asked_turn;
};

static inline int64_t on_way_ray(const struct on_way *way, int64_t travel)
{
    return fine_scaled(way->asked_turn, travel, way->asked_travel);
}

static inline int64_t on_way_travel_on_ray(const struct on_way *way, int64_t turn)
{
    return fine_scaled(turn, way->asked_travel, way->asked_turn);
}

/* Accelerating: the travel with which rotation, growing, is still on the ray; half of its rate catches up. */
static inline int64_t on_way_most_travel(const struct on_way *way, const struct motion_rates *rotation)
{
    int64_t rate = 2 * (way->turn < 0 ? rotation->reverse : rotation->accelerate);
    int64_t lag = on_way_ray(way, way->travel) - way->turn;
    if (lag <= 0)
        return on_way_travel_on_ray(way, way->turn + rate);
    return way->travel + on_way_travel_on_ray(way, rate - at_most_64(lag, rate / 2));
}

/* Decelerating: the travel with which rotation, falling, is still on the ray. */
static inline int64_t on_way_least_travel(const struct on_way *way, const struct motion_rates *rotation)
{
    int64_t rate = 2 * rotation->decelerate;
    int64_t excess = way->turn - on_way_ray(way, way->travel);
    if (excess <= 0)
        return on_way_travel_on_ray(way, at_least_64(way->turn - rate, 0));
    return way->travel - on_way_travel_on_ray(way, rate - at_most_64(excess, rate / 2));
}

static inline int64_t on_way_next_travel(const struct on_way *way, int64_t free, const struct motion_rates *rotation)
{
    if (way->asked_turn == 0 || way->asked_travel == 0)
        return free;
    if (way->travel < way->asked_travel)
        return at_least_64(at_most_64(free, on_way_most_travel(way, rotation)), way->travel);
    if (way->travel > way->asked_travel && way->turn > way->asked_turn)
        return at_least_64(free, at_most_64(on_way_least_travel(way, rotation), way->travel));
    return free;
}

static inline int64_t on_way_turn_goal(const struct on_way *way, int64_t next_travel)
{
    if (way->asked_turn == 0 || way->asked_travel == 0)
        return way->asked_turn;
    if (way->travel < way->asked_travel)
        return on_way_ray(way, next_travel);
    if (way->turn > way->asked_turn)
        return at_least_64(at_most_64(on_way_ray(way, next_travel), way->turn), way->asked_turn);
    return way->asked_turn;
}

static inline int64_t pair_approach(const struct motion_rates *rates, int64_t from, int64_t goal)
{
    const struct motion_rates doubled = { 2 * rates->accelerate, 2 * rates->decelerate, 2 * rates->reverse };
    return motion_rates_approach(&doubled, from, goal);
}

/* Towards an asked motion that does not oppose this one: on the ray, or at its own rates until it is reached. */
static inline struct pair pair_towards(struct pair pair, struct pair asked, const struct motion_rates *drive,
                                       const struct motion_rates *rotation)
{
    int64_t sum = pair_sum(pair);
    int64_t asked_sum = pair_sum(asked);
    bool turned = pair_difference(asked) < 0;
    bool reversed = asked_sum < 0 || (asked_sum == 0 && sum < 0);
    struct on_way way = {
        .travel = reversed ? -sum : sum,
        .turn = turned ? -pair_difference(pair) : pair_difference(pair),
        .asked_travel = reversed ? -asked_sum : asked_sum,
        .asked_turn = turned ? -pair_difference(asked) : pair_difference(asked),
    };

    int64_t free = pair_approach(drive, way.travel, way.asked_travel);
    int64_t travel = on_way_next_travel(&way, free, rotation);
    int64_t turn = pair_approach(rotation, way.turn, on_way_turn_goal(&way, travel));
    /* No side above full scale: what grew gives way to what did not. */
    if (magnitude_64(travel) + magnitude_64(turn) > PAIR_DOUBLE_ONE) {
        if (magnitude_64(turn) > magnitude_64(way.turn)) {
            int64_t room = PAIR_DOUBLE_ONE - magnitude_64(travel);
            turn = turn < 0 ? -room : room;
        } else {
            travel = PAIR_DOUBLE_ONE - magnitude_64(turn);
        }
    }
    if (reversed)
        travel = -travel;
    if (turned)
        turn = -turn;
    return (struct pair){ (travel + turn) / 2, (travel - turn) / 2 };
}

static inline enum motion_phase pair_phase(struct pair present, struct pair asked)
{
    if (pair_opposes(present, asked))
        return PHASE_REVERSING;
    int64_t is = pair_sum(present);
    int64_t shall = pair_sum(asked);
    if (is == shall) {
        is = pair_difference(present);
        shall = pair_difference(asked);
    }
    if (is == shall)
        return PHASE_HOLDING;
    return !opposed_64(is, shall) && magnitude_64(shall) > magnitude_64(is) ? PHASE_ACCELERATING : PHASE_DECELERATING;
}

static inline void pair_ramp_reset(struct pair_ramp *self)
{
    self->present = (struct pair){ 0, 0 };
    self->came_from = (struct pair){ 0, 0 };
    self->rested = 0;
    self->phase = PHASE_HOLDING;
}

static inline struct sides pair_ramp_output(const struct pair_ramp *self)
{
    return (struct sides){ fine_to_ratio(self->present.left), fine_to_ratio(self->present.right) };
}

static inline struct sides pair_ramp_step(struct pair_ramp *self, struct sides target, bool controlled_stop)
{
    struct pair asked = { 0, 0 };
    if (!controlled_stop)
        asked = (struct pair){ fine_from_ratio(target.left), fine_from_ratio(target.right) };
    const struct pair present = self->present;
    bool standing = pair_is_zero(present);
    if (standing && self->rested < UINT32_MAX)
        self->rested++;
    bool must_rest = standing && self->rested < self->dwell && pair_opposes(self->came_from, asked);
    int64_t direction = pair_sum(present) != 0 ? pair_sum(present) : pair_sum(asked);
    const struct motion_rates *drive = direction < 0 ? &self->reverse : &self->forward;
    const struct motion_rates *rotation = &self->rotation;

    struct pair next;
    if (must_rest) {
        next = present;
    } else if (controlled_stop) {
        next = pair_towards_zero(present, drive->decelerate, rotation->decelerate);
        int64_t largest = pair_largest(present);
        struct pair stopped = pair_scaled(present, at_least_64(largest - self->stop, 0), largest);
        if (pair_largest(stopped) < pair_largest(next))
            next = stopped;
    } else if (pair_is_zero(asked)) {
        next = pair_towards_zero(present, drive->decelerate, rotation->decelerate);
    } else if (pair_opposes(present, asked)) {
        next = pair_towards_zero(present, drive->reverse, rotation->reverse);
    } else {
        next = pair_towards(present, asked, drive, rotation);
    }
    self->phase = (uint8_t)pair_phase(must_rest ? self->came_from : present, asked);
    self->present = next;
    if (!pair_is_zero(next)) {
        self->came_from = next;
        self->rested = 0;
    }
    return pair_ramp_output(self);
}

static inline enum motion_state pair_ramp_state(const struct pair_ramp *self)
{
    const struct pair present = self->present;
    if (pair_is_zero(present))
        return MOTION_STANDING;
    if (opposed_64(present.left, present.right))
        return MOTION_ROTATION;
    return pair_sum(present) > 0 ? MOTION_FORWARD : MOTION_REVERSE;
}

#endif
