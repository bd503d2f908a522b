/* What can go wrong, what it is called on the bus, what it does; which of it is active and since when. */
#ifndef PATH_LOADER_FAULTS_H
#define PATH_LOADER_FAULTS_H

#include "path_loader_words.h"

enum fault {
    FAULT_EMERGENCY_STOP,
    FAULT_EMERGENCY_STOP_CONTACTS,
    FAULT_CUT_OFF_STUCK_ON,
    FAULT_CUT_OFF_STUCK_OFF,
    FAULT_STRAY_CURRENT,
    FAULT_GATE_DISAGREES,
    FAULT_PARAMETERS_REPLACED,
    FAULT_PERIODS_MISSED,
    FAULT_SUPPLY_LOW,
    FAULT_SUPPLY_HIGH,
    FAULT_SENSOR_SUPPLY,
    FAULT_LEFT_LEVER_NEVER_SEEN,
    FAULT_LEFT_LEVER_LOST,
    FAULT_LEFT_LEVER_VALUE,
    FAULT_LEFT_LEVER_INCONSISTENT,
    FAULT_LEFT_LEVER_DUPLICATED,
    FAULT_RIGHT_LEVER_NEVER_SEEN,
    FAULT_RIGHT_LEVER_LOST,
    FAULT_RIGHT_LEVER_VALUE,
    FAULT_RIGHT_LEVER_INCONSISTENT,
    FAULT_RIGHT_LEVER_DUPLICATED,
    FAULT_PATTERN_ROCKER,
    FAULT_ENGINE_PICKUP,
    FAULT_ENGINE_SPEED_DISAGREES,
    FAULT_ENGINE_CONTROLLER_LOST,
    FAULT_LEFT_MOTOR_PICKUP,
    FAULT_RIGHT_MOTOR_PICKUP,
    FAULT_CHARGE_PRESSURE_SENSOR,
    FAULT_CHARGE_PRESSURE_LOW,
    FAULT_OIL_TEMPERATURE_SENSOR,
    FAULT_OIL_HOT,
    FAULT_HAND_THROTTLE_SENSOR,
    FAULT_DRIVE_CURRENT_UNREACHABLE,
    FAULT_WORK_CURRENT_UNREACHABLE,
    FAULT_BUS_OVERRUN,
    FAULT_BUS_OFF,
    /* One for each coil, in their order. */
    FAULT_COIL_OPEN,
    FAULT_COIL_SHORT = FAULT_COIL_OPEN + COILS,
    FAULT_COIL_CURRENT = FAULT_COIL_SHORT + COILS,
    FAULTS = FAULT_COIL_CURRENT + COILS,
};

#define FAULT_WORDS ((FAULTS + 31) / 32)

enum latch { LATCH_WHILE_PRESENT, LATCH_UNTIL_NEUTRAL, LATCH_UNTIL_RESTART };

/* Reactions. */
#define STOP_DRIVE 1u
#define STOP_WORK 2u
#define STOP_AUXILIARY 4u
#define CUT_SUPPLY 8u
#define LIMIT_DRIVE 16u
#define STOP_ALL (STOP_DRIVE | STOP_WORK | STOP_AUXILIARY)

/* Periods that last at least so many milliseconds. */
#define FAULT_STEPS(ms) (((ms) * 1000u + TICK_US - 1u) / TICK_US)

struct fault_rule {
    uint32_t spn;
    uint8_t fmi;
    uint16_t set_steps;
    uint16_t clear_steps;
    uint8_t latch;
    uint8_t reactions;
    uint8_t blink;
};

static const struct fault_rule fault_rules[FAULTS] = {
    { 520192, 31, FAULT_STEPS(0), FAULT_STEPS(100), LATCH_UNTIL_NEUTRAL, CUT_SUPPLY, 11 },
    { 520192, 14, FAULT_STEPS(100), FAULT_STEPS(100), LATCH_UNTIL_RESTART, CUT_SUPPLY, 12 },
    { 520193, 3, FAULT_STEPS(0), FAULT_STEPS(500), LATCH_UNTIL_RESTART, CUT_SUPPLY, 13 },
    { 520193, 4, FAULT_STEPS(30), FAULT_STEPS(500), LATCH_UNTIL_RESTART, CUT_SUPPLY, 14 },
    { 520194, 0, FAULT_STEPS(10), FAULT_STEPS(500), LATCH_UNTIL_RESTART, CUT_SUPPLY, 15 },
    { 520195, 7, FAULT_STEPS(0), FAULT_STEPS(500), LATCH_UNTIL_RESTART, CUT_SUPPLY, 16 },
    { 520196, 13, FAULT_STEPS(0), FAULT_STEPS(0), LATCH_UNTIL_RESTART, STOP_ALL, 17 },
    { 520197, 9, FAULT_STEPS(50), FAULT_STEPS(1000), LATCH_WHILE_PRESENT, STOP_ALL, 18 },
    { 168, 4, FAULT_STEPS(30), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_ALL, 21 },
    { 168, 3, FAULT_STEPS(1000), FAULT_STEPS(500), LATCH_WHILE_PRESENT, 0, 22 },
    { 520198, 2, FAULT_STEPS(50), FAULT_STEPS(500), LATCH_WHILE_PRESENT, STOP_DRIVE, 23 },
    { 520200, 12, FAULT_STEPS(0), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_ALL, 24 },
    { 520200, 9, FAULT_STEPS(0), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_ALL, 25 },
    { 520200, 19, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_ALL, 26 },
    { 520200, 2, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_ALL, 27 },
    { 520200, 10, FAULT_STEPS(0), FAULT_STEPS(500), LATCH_UNTIL_RESTART, STOP_ALL, 28 },
    { 520201, 12, FAULT_STEPS(0), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_ALL, 29 },
    { 520201, 9, FAULT_STEPS(0), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_ALL, 31 },
    { 520201, 19, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_ALL, 32 },
    { 520201, 2, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_ALL, 33 },
    { 520201, 10, FAULT_STEPS(0), FAULT_STEPS(500), LATCH_UNTIL_RESTART, STOP_ALL, 34 },
    { 520202, 2, FAULT_STEPS(300), FAULT_STEPS(100), LATCH_WHILE_PRESENT, STOP_ALL, 35 },
    { 190, 2, FAULT_STEPS(100), FAULT_STEPS(1000), LATCH_WHILE_PRESENT, LIMIT_DRIVE, 36 },
    { 190, 14, FAULT_STEPS(500), FAULT_STEPS(1000), LATCH_WHILE_PRESENT, LIMIT_DRIVE, 37 },
    { 190, 9, FAULT_STEPS(0), FAULT_STEPS(1000), LATCH_WHILE_PRESENT, 0, 38 },
    { 520203, 2, FAULT_STEPS(1000), FAULT_STEPS(1000), LATCH_WHILE_PRESENT, LIMIT_DRIVE, 53 },
    { 520204, 2, FAULT_STEPS(1000), FAULT_STEPS(1000), LATCH_WHILE_PRESENT, LIMIT_DRIVE, 54 },
    { 520205, 2, FAULT_STEPS(100), FAULT_STEPS(500), LATCH_WHILE_PRESENT, STOP_DRIVE, 55 },
    { 520205, 1, FAULT_STEPS(1500), FAULT_STEPS(500), LATCH_WHILE_PRESENT, STOP_DRIVE, 56 },
    { 1638, 2, FAULT_STEPS(500), FAULT_STEPS(500), LATCH_WHILE_PRESENT, LIMIT_DRIVE, 57 },
    { 1638, 0, FAULT_STEPS(2000), FAULT_STEPS(5000), LATCH_WHILE_PRESENT, LIMIT_DRIVE, 58 },
    { 91, 2, FAULT_STEPS(200), FAULT_STEPS(500), LATCH_WHILE_PRESENT, 0, 59 },
    { 520206, 18, FAULT_STEPS(200), FAULT_STEPS(1000), LATCH_WHILE_PRESENT, LIMIT_DRIVE, 61 },
    { 520207, 18, FAULT_STEPS(200), FAULT_STEPS(1000), LATCH_WHILE_PRESENT, 0, 62 },
    { 520208, 0, FAULT_STEPS(0), FAULT_STEPS(1000), LATCH_WHILE_PRESENT, 0, 63 },
    { 639, 9, FAULT_STEPS(0), FAULT_STEPS(1000), LATCH_WHILE_PRESENT, 0, 64 },
    { 520220, 5, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 41 },
    { 520221, 5, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 42 },
    { 520222, 5, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 43 },
    { 520223, 5, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 44 },
    { 520224, 5, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 45 },
    { 520225, 5, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 46 },
    { 520226, 5, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 47 },
    { 520227, 5, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 48 },
    { 520228, 5, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 49 },
    { 520229, 5, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_AUXILIARY, 51 },
    { 520230, 5, FAULT_STEPS(40), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_AUXILIARY, 52 },
    { 520220, 6, FAULT_STEPS(20), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 41 },
    { 520221, 6, FAULT_STEPS(20), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 42 },
    { 520222, 6, FAULT_STEPS(20), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 43 },
    { 520223, 6, FAULT_STEPS(20), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 44 },
    { 520224, 6, FAULT_STEPS(20), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 45 },
    { 520225, 6, FAULT_STEPS(20), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 46 },
    { 520226, 6, FAULT_STEPS(20), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 47 },
    { 520227, 6, FAULT_STEPS(20), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 48 },
    { 520228, 6, FAULT_STEPS(20), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 49 },
    { 520229, 6, FAULT_STEPS(20), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_AUXILIARY, 51 },
    { 520230, 6, FAULT_STEPS(20), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_AUXILIARY, 52 },
    { 520220, 7, FAULT_STEPS(60), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 41 },
    { 520221, 7, FAULT_STEPS(60), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 42 },
    { 520222, 7, FAULT_STEPS(60), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 43 },
    { 520223, 7, FAULT_STEPS(60), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_DRIVE, 44 },
    { 520224, 7, FAULT_STEPS(60), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 45 },
    { 520225, 7, FAULT_STEPS(60), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 46 },
    { 520226, 7, FAULT_STEPS(60), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 47 },
    { 520227, 7, FAULT_STEPS(60), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 48 },
    { 520228, 7, FAULT_STEPS(60), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_WORK, 49 },
    { 520229, 7, FAULT_STEPS(60), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_AUXILIARY, 51 },
    { 520230, 7, FAULT_STEPS(60), FAULT_STEPS(500), LATCH_UNTIL_NEUTRAL, STOP_AUXILIARY, 52 },
};

/* A bit for each fault. */
struct fault_set {
    uint32_t words[FAULT_WORDS];
};

struct fault_table {
    struct fault_set active;
    struct fault_set waiting;
    uint16_t waited[FAULTS]; /* steps since the condition first contradicted the state */
    uint8_t reactions;
    uint8_t blink;
    uint8_t count;
};

struct fault_line {
    uint32_t first; /* in periods since the start */
    uint32_t last;
    uint8_t count; /* 255 is 255 or more */
};

struct fault_log {
    struct fault_line lines[FAULTS];
    struct fault_set active;
};

static inline void fault_set_add(struct fault_set *self, uint32_t place, bool present)
{
    self->words[place / 32] |= (uint32_t)present << place % 32;
}

static inline bool fault_set_has(const struct fault_set *self, uint32_t place)
{
    return (self->words[place / 32] >> place % 32 & 1u) != 0;
}

/* The lowest bit of a word, taken out of it. */
static inline uint32_t lowest_bit(uint32_t *word)
{
    uint32_t bit = (uint32_t)__builtin_ctz(*word);
    *word &= *word - 1;
    return bit;
}

/* Whether the condition has lasted long enough to change the state. */
static inline bool fault_elapsed(uint16_t *waited, const struct fault_rule *rule, bool condition, bool all_neutral)
{
    if (*waited < (condition ? rule->set_steps : rule->clear_steps)) {
        ++*waited;
        return false;
    }
    bool released = rule->latch == LATCH_WHILE_PRESENT || (rule->latch == LATCH_UNTIL_NEUTRAL && all_neutral);
    if (!condition && !released)
        return false;
    *waited = 0;
    return true;
}

static inline void fault_table_sum_up(struct fault_table *self)
{
    self->reactions = 0;
    self->blink = 0;
    self->count = 0;
    for (uint32_t word = 0; word < FAULT_WORDS; word++) {
        for (uint32_t rest = self->active.words[word]; rest != 0;) {
            const struct fault_rule *rule = &fault_rules[word * 32 + lowest_bit(&rest)];
            self->reactions |= rule->reactions;
            self->count++;
            if (self->blink == 0 || rule->blink < self->blink)
                self->blink = rule->blink;
        }
    }
}

static inline void fault_table_step(struct fault_table *self, const struct fault_set *conditions, bool all_neutral)
{
    bool changed = false;
    for (uint32_t word = 0; word < FAULT_WORDS; word++) {
        uint32_t contradicted = conditions->words[word] ^ self->active.words[word];
        if ((contradicted | self->waiting.words[word]) == 0)
            continue;
        for (uint32_t rest = self->waiting.words[word] & ~contradicted; rest != 0;)
            self->waited[word * 32 + lowest_bit(&rest)] = 0;
        self->waiting.words[word] = contradicted;
        while (contradicted != 0) {
            uint32_t bit = lowest_bit(&contradicted);
            uint32_t place = word * 32 + bit;
            bool condition = (conditions->words[word] >> bit & 1u) != 0;
            if (fault_elapsed(&self->waited[place], &fault_rules[place], condition, all_neutral)) {
                self->active.words[word] ^= 1u << bit;
                self->waiting.words[word] &= ~(1u << bit);
                changed = true;
            }
        }
    }
    if (changed)
        fault_table_sum_up(self);
}

static inline bool fault_table_has(const struct fault_table *self, uint32_t place)
{
    return fault_set_has(&self->active, place);
}

static inline void fault_log_step(struct fault_log *self, const struct fault_set *active, uint32_t now)
{
    for (uint32_t word = 0; word < FAULT_WORDS; word++) {
        uint32_t set = active->words[word] & ~self->active.words[word];
        self->active.words[word] = active->words[word];
        while (set != 0) {
            struct fault_line *line = &self->lines[word * 32 + lowest_bit(&set)];
            if (line->count == 0)
                line->first = now;
            line->last = now;
            if (line->count < UINT8_MAX)
                line->count++;
        }
    }
}

#endif
