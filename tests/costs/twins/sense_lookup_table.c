/* A thermistor by eight points: mV to tenths of a degree. */
#include "twin.h"

#define POINTS 8

struct point {
    uint16_t x;
    int16_t y;
};

struct sense_lookup_table {
    struct point points[POINTS];
};

const uint32_t sense_lookup_table_size = sizeof(struct sense_lookup_table);

void sense_lookup_table_new(struct sense_lookup_table *self)
{
    static const struct point points[POINTS] = {
        { 300, 1300 }, { 600, 1000 }, { 1100, 750 }, { 1800, 530 },
        { 2600, 330 }, { 3400, 130 }, { 4100, -80 }, { 4600, -300 },
    };
    for (int place = 0; place < POINTS; place++)
        self->points[place] = points[place];
}

/* numerator / denominator, to nearest, ties away from zero; the denominator is above zero */
static inline int32_t rounded_quotient(int32_t numerator, int32_t denominator)
{
    int32_t half = denominator / 2;
    return (numerator < 0 ? numerator - half : numerator + half) / denominator;
}

static int32_t lookup_table_step(const struct sense_lookup_table *self, int32_t x)
{
    const struct point *points = self->points;
    if (x <= points[0].x)
        return points[0].y;
    for (int place = 1; place < POINTS; place++) {
        const struct point *high = &points[place];
        if (x <= high->x) {
            const struct point *low = high - 1;
            return low->y + rounded_quotient((high->y - low->y) * (x - low->x), high->x - low->x);
        }
    }
    return points[POINTS - 1].y;
}

void sense_lookup_table_step(struct sense_lookup_table *self, const int32_t *in, int32_t *out)
{
    out[0] = lookup_table_step(self, in[0]);
}
