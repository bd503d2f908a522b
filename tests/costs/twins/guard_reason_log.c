/* What kept two groups from moving, remembered for 3 s before a stop: a ring of eight changes. */
#include "twin.h"

#define GROUPS 2
#define ENTRIES 8

struct entry {
    uint32_t period;
    uint32_t why_not[GROUPS];
};

struct guard_reason_log {
    struct entry entries[ENTRIES];
    uint32_t look_back_steps;
    uint32_t now;
    uint32_t last[GROUPS];
    uint8_t oldest;
    uint8_t count;
    bool frozen;
    bool was_permitted;
};

const uint32_t guard_reason_log_size = sizeof(struct guard_reason_log);

void guard_reason_log_new(struct guard_reason_log *self)
{
    *self = (struct guard_reason_log){ .look_back_steps = steps_of(3000, TICK_US) };
}

static inline void drop_oldest(struct guard_reason_log *self)
{
    self->oldest = (uint8_t)((self->oldest + 1) % ENTRIES);
    self->count--;
}

static inline struct entry *entry_at(struct guard_reason_log *self, uint8_t place)
{
    return &self->entries[(self->oldest + place) % ENTRIES];
}

static void reason_log_step(struct guard_reason_log *self, const uint32_t why_not[GROUPS], bool permitted)
{
    if (permitted && !self->was_permitted)
        self->frozen = false;
    if (!self->frozen) {
        if (self->count > 0 && self->now - entry_at(self, 0)->period > self->look_back_steps)
            drop_oldest(self);
        if (why_not[0] != self->last[0] || why_not[1] != self->last[1]) {
            if (self->count == ENTRIES)
                drop_oldest(self);
            *entry_at(self, self->count) = (struct entry){ self->now, { why_not[0], why_not[1] } };
            self->count++;
        }
    }
    if (self->was_permitted && !permitted)
        self->frozen = true;
    self->last[0] = why_not[0];
    self->last[1] = why_not[1];
    self->was_permitted = permitted;
    if (self->now < UINT32_MAX)
        self->now++;
}

static void entry_show(const struct entry *entry, int32_t *out)
{
    out[0] = 1;
    out[1] = (int32_t)entry->period;
    out[2] = (int32_t)entry->why_not[0];
    out[3] = (int32_t)entry->why_not[1];
}

void guard_reason_log_step(struct guard_reason_log *self, const int32_t *in, int32_t *out)
{
    const uint32_t why_not[GROUPS] = { (uint32_t)in[0], (uint32_t)in[1] };
    reason_log_step(self, why_not, in[2] != 0);
    out[0] = self->frozen;
    if (self->count > 0) {
        entry_show(entry_at(self, 0), out + 1);
        entry_show(entry_at(self, (uint8_t)(self->count - 1)), out + 5);
    } else {
        for (int place = 1; place < 9; place++)
            out[place] = 0;
    }
}
