/* Drive and steer to left and right by the law in bands. */
#include "propel_mixer.h"

struct propel_mixer_banded {
    struct mixer mixer;
};

const uint32_t propel_mixer_banded_size = sizeof(struct propel_mixer_banded);

void propel_mixer_banded_new(struct propel_mixer_banded *self)
{
    static const struct mixer_config config = {
        .law = MIX_BANDED,
        .convention = REVERSE_PATH_FOLLOWING,
        .pivot_point = 500,
        .pivot_band = 100,
        .sensitivity = 700,
        .blend_drive = 200,
        .reverse_blend = 150,
    };
    mixer_init(&self->mixer, &config);
}

void propel_mixer_banded_step(struct propel_mixer_banded *self, const int32_t *in, int32_t *out)
{
    struct sides sides = mixer_step(&self->mixer, in[0], in[1], in[2]);
    out[0] = sides.left;
    out[1] = sides.right;
}
