/* A lever response drawn by five points: a monotone cubic between each two, in the form of Bezier. */
#include "twin.h"

#define POINTS 5

struct piece {
    int32_t from;
    struct divisor width;
    int32_t control[4];
};

struct lever_response_curve {
    struct piece pieces[POINTS];
};

const uint32_t lever_response_curve_size = sizeof(struct lever_response_curve);

/* From one point to the next, in thousandths. */
struct chord {
    int64_t from;
    int64_t base;
    int64_t width;
    int64_t rise;
};

static int64_t full_scale(int64_t numerator, int64_t denominator) { return scaled(numerator, RATIO_ONE, denominator); }

/* At most half the rise over this width. */
static int64_t chord_held(const struct chord *chord, int64_t distance, int64_t width)
{
    return at_most_64(distance, full_scale(chord->rise * width, chord->width * 2000));
}

/* Distance of a control point where two chords meet: a third of the weighted harmonic mean of both slopes, times the
 * width. */
static int64_t chord_inner(const struct chord *chord, const struct chord *next, int64_t width)
{
    int64_t sum = chord->width + next->width;
    int64_t heavy = (next->width + sum) * chord->width * next->rise;
    int64_t light = (chord->width + sum) * next->width * chord->rise;
    int64_t third_of_slope = full_scale(chord->rise * next->rise * sum, heavy + light);
    int64_t distance = scaled(third_of_slope, width, 1000);
    return chord_held(chord, chord_held(next, distance, width), width);
}

/* The same at an end of the curve. */
static int64_t chord_outer(const struct chord *chord, const struct chord *next)
{
    if (!next)
        return full_scale(chord->rise, 3000);
    int64_t sum = chord->width + next->width;
    int64_t steep = (chord->width + sum) * chord->rise * next->width;
    int64_t flat = chord->width * chord->width * next->rise;
    return chord_held(chord, full_scale(at_least_64(steep - flat, 0), sum * next->width * 3000), chord->width);
}

static struct piece chord_piece(const struct chord *before, const struct chord *chord, const struct chord *after)
{
    int64_t low = full_scale(chord->base, 1000);
    int64_t high = full_scale(chord->base + chord->rise, 1000);
    int64_t leaving = before ? chord_inner(before, chord, chord->width) : chord_outer(chord, after);
    int64_t arriving = after ? chord_inner(chord, after, chord->width) : chord_outer(chord, before);
    int64_t second = low + leaving;
    int64_t third = at_least_64(high - arriving, second);
    int64_t from = full_scale(chord->from, 1000);
    int64_t to = full_scale(chord->from + chord->width, 1000);
    return (struct piece){
        .from = ratio_held(from),
        .width = divisor_of(ratio_held(to - from)),
        .control = { ratio_held(low), ratio_held(second), ratio_held(third), ratio_held(high) },
    };
}

void lever_response_curve_new(struct lever_response_curve *self)
{
    static const struct {
        int16_t deflection;
        int16_t intent;
    } points[POINTS] = { { 0, 0 }, { 80, 0 }, { 400, 150 }, { 800, 650 }, { 1000, 1000 } };
    struct chord chords[POINTS - 1];
    for (int place = 0; place < POINTS - 1; place++) {
        chords[place] = (struct chord){
            .from = points[place].deflection,
            .base = points[place].intent,
            .width = points[place + 1].deflection - points[place].deflection,
            .rise = points[place + 1].intent - points[place].intent,
        };
    }
    for (int place = 0; place < POINTS - 1; place++) {
        self->pieces[place] = chord_piece(place > 0 ? &chords[place - 1] : 0, &chords[place],
                                          place < POINTS - 2 ? &chords[place + 1] : 0);
    }
    int32_t end = ratio_permille(points[POINTS - 1].intent);
    self->pieces[POINTS - 1] = (struct piece){ RATIO_ONE, divisor_of(RATIO_ONE), { end, end, end, end } };
}

static inline int32_t blend(int32_t low, int32_t high, int32_t along) { return low + ratio_times(high - low, along); }

static int32_t piece_at(const struct piece *piece, int32_t magnitude)
{
    int32_t along = divisor_share(&piece->width, magnitude - piece->from);
    const int32_t *control = piece->control;
    int32_t ab = blend(control[0], control[1], along);
    int32_t bc = blend(control[1], control[2], along);
    int32_t cd = blend(control[2], control[3], along);
    return blend(blend(ab, bc, along), blend(bc, cd, along), along);
}

static int32_t response_curve_step(const struct lever_response_curve *self, int32_t deflection)
{
    int32_t magnitude = ratio_magnitude(deflection);
    int place = 0;
    while (place + 1 < POINTS && self->pieces[place + 1].from <= magnitude)
        place++;
    int32_t intent = piece_at(&self->pieces[place], magnitude);
    return deflection < 0 ? -intent : intent;
}

void lever_response_curve_step(struct lever_response_curve *self, const int32_t *in, int32_t *out)
{
    out[0] = response_curve_step(self, in[0]);
}
