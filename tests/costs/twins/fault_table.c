/* What is active of sixteen faults. */
#include "twin.h"

#define FAULTS 16

enum latch { LATCH_WHILE_PRESENT, LATCH_UNTIL_NEUTRAL, LATCH_UNTIL_RESTART };

enum reaction { STOP_DRIVE = 1, STOP_WORK = 2, DERATE = 4, STOP_ALL = 8 };

struct fault_rule {
    uint16_t set_ms;
    uint16_t clear_ms;
    uint8_t latch;
    uint16_t reactions;
    uint8_t blink;
};

static const struct fault_rule rules[FAULTS] = {
    { 50, 500, LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 11 },
    { 50, 500, LATCH_UNTIL_NEUTRAL, STOP_WORK, 12 },
    { 0, 0, LATCH_UNTIL_RESTART, STOP_ALL, 13 },
    { 100, 100, LATCH_WHILE_PRESENT, 0, 14 },
    { 100, 100, LATCH_WHILE_PRESENT, STOP_WORK, 15 },
    { 200, 500, LATCH_WHILE_PRESENT, DERATE, 21 },
    { 300, 500, LATCH_WHILE_PRESENT, DERATE, 22 },
    { 300, 500, LATCH_WHILE_PRESENT, DERATE, 22 },
    { 500, 200, LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 31 },
    { 1000, 5000, LATCH_WHILE_PRESENT, DERATE, 32 },
    { 500, 1000, LATCH_WHILE_PRESENT, STOP_ALL, 41 },
    { 100, 1000, LATCH_WHILE_PRESENT, STOP_ALL, 42 },
    { 50, 500, LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 51 },
    { 0, 0, LATCH_UNTIL_RESTART, STOP_ALL, 52 },
    { 50, 500, LATCH_UNTIL_NEUTRAL, STOP_WORK, 53 },
    { 0, 0, LATCH_UNTIL_RESTART, STOP_ALL, 54 },
};

struct row {
    uint32_t set_steps;
    uint32_t clear_steps;
    uint32_t waited; /* steps since the condition first contradicted the state */
    bool active;
};

struct fault_table {
    struct row rows[FAULTS];
    uint16_t reactions;
    uint8_t blink;
    uint8_t count;
};

const uint32_t fault_table_size = sizeof(struct fault_table);

void fault_table_new(struct fault_table *self)
{
    *self = (struct fault_table){ 0 };
    for (int place = 0; place < FAULTS; place++) {
        self->rows[place].set_steps = steps_of(rules[place].set_ms, TICK_US);
        self->rows[place].clear_steps = steps_of(rules[place].clear_ms, TICK_US);
    }
}

static inline void row_step(struct row *row, const struct fault_rule *rule, bool condition, bool all_neutral)
{
    if (condition == row->active) {
        row->waited = 0;
        return;
    }
    if (row->waited < (condition ? row->set_steps : row->clear_steps)) {
        row->waited++;
        return;
    }
    bool released =
        rule->latch == LATCH_WHILE_PRESENT || (rule->latch == LATCH_UNTIL_NEUTRAL && all_neutral);
    if (condition || released) {
        row->active = condition;
        row->waited = 0;
    }
}

static void table_step(struct fault_table *self, const int32_t *conditions, bool all_neutral)
{
    uint16_t reactions = 0;
    uint8_t blink = 0;
    uint8_t count = 0;
    for (int place = 0; place < FAULTS; place++) {
        const struct fault_rule *rule = &rules[place];
        struct row *row = &self->rows[place];
        row_step(row, rule, conditions[place] != 0, all_neutral);
        if (row->active) {
            reactions |= rule->reactions;
            count++;
            if (blink == 0 || rule->blink < blink)
                blink = rule->blink;
        }
    }
    self->reactions = reactions;
    self->blink = blink;
    self->count = count;
}

void fault_table_step(struct fault_table *self, const int32_t *in, int32_t *out)
{
    table_step(self, in + 1, in[0] != 0);
    out[0] = self->reactions;
    out[1] = self->blink;
    out[2] = self->count;
}
