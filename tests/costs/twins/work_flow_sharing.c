/* Shares the flow of one pump among spools when together they ask for more than there is. */
#include "twin.h"

#define CONSUMERS 4

enum flow_priority { FLOW_SHARED, FLOW_FIRST };

struct flow_consumer {
    int16_t full_flow; /* thousandths of the largest flow of the pump */
    uint8_t priority;
};

struct work_flow_sharing {
    struct flow_consumer consumers[CONSUMERS];
};

const uint32_t work_flow_sharing_size = sizeof(struct work_flow_sharing);

void work_flow_sharing_new(struct work_flow_sharing *self)
{
    static const struct flow_consumer consumers[CONSUMERS] = {
        { 300, FLOW_FIRST }, { 800, FLOW_SHARED }, { 600, FLOW_SHARED }, { 500, FLOW_SHARED },
    };
    for (unsigned i = 0; i < CONSUMERS; i++)
        self->consumers[i] = consumers[i];
}

/* What everybody of a kind keeps, rounded down: long division with limbs of 15 bits, both below 2^44. */
static uint32_t kept_share(uint64_t available, uint64_t demand)
{
    if (demand <= available)
        return RATIO_ONE;
    uint64_t upper = (available << 15) / demand;
    uint64_t rest = (available << 15) % demand;
    uint64_t lower = (rest << 15) / demand;
    return (uint32_t)((upper << 15) + lower);
}

static void flow_sharing_step(const struct work_flow_sharing *self, const int32_t *commands, int32_t available_share,
                              int32_t *given)
{
    /* In thousandths of 2^-30. */
    uint64_t available = (uint64_t)at_least(available_share, 0) * 1000u;
    uint64_t demand[2] = { 0, 0 };
    uint32_t share[2];

    for (unsigned i = 0; i < CONSUMERS; i++)
        demand[self->consumers[i].priority] +=
            (uint64_t)magnitude_32(commands[i]) * (uint32_t)self->consumers[i].full_flow;
    share[FLOW_FIRST] = kept_share(available, demand[FLOW_FIRST]);
    available = available > demand[FLOW_FIRST] ? available - demand[FLOW_FIRST] : 0;
    share[FLOW_SHARED] = kept_share(available, demand[FLOW_SHARED]);
    for (unsigned i = 0; i < CONSUMERS; i++) {
        uint64_t product = (uint64_t)magnitude_32(commands[i]) * share[self->consumers[i].priority];
        int32_t kept = (int32_t)(product >> 30);
        given[i] = commands[i] < 0 ? -kept : kept;
    }
}

void work_flow_sharing_step(struct work_flow_sharing *self, const int32_t *in, int32_t *out)
{
    flow_sharing_step(self, in, in[CONSUMERS], out);
}
