/* When each of sixteen faults was set, and how often. */
#include "twin.h"

#define FAULTS 16

/* The two whose history is shown. */
#define SEAT_CONTACT 3
#define COIL_BOOM_SHORT 15

struct line {
    uint32_t first; /* in loops since the start */
    uint32_t last;
    uint8_t count; /* 255 is 255 or more */
    bool active;
};

struct fault_log {
    struct line lines[FAULTS];
};

const uint32_t fault_log_size = sizeof(struct fault_log);

void fault_log_new(struct fault_log *self) { *self = (struct fault_log){ 0 }; }

static void log_step(struct fault_log *self, const int32_t *active, uint32_t now)
{
    for (int place = 0; place < FAULTS; place++) {
        struct line *line = &self->lines[place];
        bool is_active = active[place] != 0;
        if (is_active && !line->active) {
            if (line->count == 0)
                line->first = now;
            line->last = now;
            if (line->count < UINT8_MAX)
                line->count++;
        }
        line->active = is_active;
    }
}

static void log_show(const struct line *line, int32_t *out)
{
    out[0] = (int32_t)line->first;
    out[1] = (int32_t)line->last;
    out[2] = line->count;
}

void fault_log_step(struct fault_log *self, const int32_t *in, int32_t *out)
{
    log_step(self, in + 1, (uint32_t)in[0]);
    log_show(&self->lines[SEAT_CONTACT], out);
    log_show(&self->lines[COIL_BOOM_SHORT], out + 3);
}
