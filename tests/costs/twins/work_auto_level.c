/* The bucket keeps its angle while the boom moves. */
#include "sense_reading.h"

#define POINTS 3
/* Gains in steps of 2^-16. */
#define GAIN_BITS 16
#define GAIN_ONE (INT64_C(1) << GAIN_BITS)

struct piece {
    int32_t boom;
    int32_t bucket;
    int64_t slope; /* bucket stroke per boom stroke */
};

/* From what the bucket shall do to the command that does it, for one of its directions. */
struct gains {
    int64_t raising;
    int64_t lowering;
    int64_t correcting;
};

struct work_auto_level {
    struct piece line[POINTS];
    struct gains dump;
    struct gains curl;
    int32_t largest;
    int32_t neutral;
    bool both_ways;
    bool levels;
    int64_t kept; /* bucket stroke above the level line, while it levels */
};

const uint32_t work_auto_level_size = sizeof(struct work_auto_level);

static struct piece piece_of(int32_t boom, int32_t bucket, int32_t run, int32_t rise)
{
    return (struct piece){ ratio_permille(boom), ratio_permille(bucket), scaled(rise, GAIN_ONE, run) };
}

static struct gains gains_of(int32_t bucket_ms, int32_t raise_ms, int32_t lower_ms, int32_t settle_ms)
{
    return (struct gains){ scaled(bucket_ms, GAIN_ONE, raise_ms), scaled(bucket_ms, GAIN_ONE, lower_ms),
                           scaled(bucket_ms, GAIN_ONE, settle_ms) };
}

void work_auto_level_new(struct work_auto_level *self)
{
    self->line[0] = piece_of(0, 200, 500, 200);
    self->line[1] = piece_of(500, 400, 500, 400);
    self->line[2] = piece_of(1000, 800, 0, 0);
    self->dump = gains_of(2000, 4000, 3000, 500);
    self->curl = gains_of(2500, 4000, 3000, 500);
    self->largest = ratio_permille(600);
    self->neutral = ratio_permille(50);
    self->both_ways = true;
    self->levels = false;
    self->kept = 0;
}

/* The piece of the line that the boom is on: the first begins at 0. */
static const struct piece *piece_at(const struct work_auto_level *self, int32_t boom)
{
    unsigned place = POINTS - 1;
    while (place > 0 && self->line[place].boom > boom)
        place--;
    return &self->line[place];
}

static int64_t by_gains(const struct gains *gains, bool rises, int64_t fed, int64_t error)
{
    return rounded_shift(fed * (rises ? gains->raising : gains->lowering), GAIN_BITS)
        + rounded_shift(error * gains->correcting, GAIN_BITS);
}

/* What the boom asks for plus what is left of the error. */
static int32_t bucket_command(const struct work_auto_level *self, int32_t command, int32_t boom, int64_t slope,
                              int64_t error)
{
    bool rises = command > 0;
    bool at_its_end = boom == (rises ? RATIO_ONE : 0);
    int64_t fed = rounded_shift(at_its_end ? 0 : command * slope, GAIN_BITS);
    int64_t wanted = by_gains(&self->dump, rises, fed, error);
    if (wanted <= 0)
        wanted = by_gains(&self->curl, rises, fed, error);
    return held(ratio_held(wanted), -self->largest, self->largest);
}

static int32_t auto_level_step(struct work_auto_level *self, bool on, int32_t boom_command, int32_t lever,
                               struct sensed boom, struct sensed bucket)
{
    bool released = ratio_magnitude(lever) <= self->neutral;
    bool asked_way = boom_command > 0 || (boom_command < 0 && self->both_ways);
    if (boom.health != HEALTH_GOOD || bucket.health != HEALTH_GOOD || !on || !released || !asked_way) {
        self->levels = false;
        return lever;
    }
    int32_t boom_at = at_least(boom.value, 0);
    int32_t bucket_at = at_least(bucket.value, 0);
    const struct piece *piece = piece_at(self, boom_at);
    int64_t level = piece->bucket + rounded_shift((int64_t)(boom_at - piece->boom) * piece->slope, GAIN_BITS);
    int64_t above = bucket_at - level;
    if (!self->levels) {
        self->levels = true;
        self->kept = above;
    }
    int32_t command = bucket_command(self, boom_command, boom_at, piece->slope, self->kept - above);
    bool at_its_end = (command > 0 && bucket_at == RATIO_ONE) || (command < 0 && bucket_at == 0);
    return at_its_end ? 0 : command;
}

void work_auto_level_step(struct work_auto_level *self, const int32_t *in, int32_t *out)
{
    out[0] = auto_level_step(self, in[0] != 0, in[1], in[2], sensed_from(in + 3), sensed_from(in + 5));
}
