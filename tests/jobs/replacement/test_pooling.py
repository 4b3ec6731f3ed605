"""One offset for a shop's families, against brute force over all unknowns at once."""

import numpy as np
import pytest
from scipy import stats

from jobs.replacement.lives import NO_LIVES, Event, Life, Lives
from jobs.replacement.pooling import shop_offset, shop_posteriors
from jobs.replacement.posterior import posterior
from jobs.replacement.priors import DEFAULT_PRIORS
from jobs.replacement.weibull import chance_of_failure

BODY, METAL = DEFAULT_PRIORS["body"], DEFAULT_PRIORS["metal_stem"]
DYING = Lives.of([Life(exit=age, event=Event.FAILED) for age in (3, 3.5, 4, 4, 4.5, 5, 5, 5.5)])
LASTING = Lives.of([Life(exit=12.0, event=Event.ALIVE)] * 12)


def metal_chance(bodies, **changes):
    families = {"body": (bodies, BODY), "metal_stem": (NO_LIVES, METAL)}
    return shop_posteriors(families, **changes)["metal_stem"].chance(4, 4).mean


def by_brute_force(shared_sd):
    """Offset × law of the bodies × law of the stems, multiplied out on plain grids."""
    offsets = np.linspace(-4, 4, 41) * shared_sd
    told = np.zeros(len(offsets))
    for prior in (BODY,):
        own = np.sqrt(prior.sd_log_scale**2 - shared_sd**2)
        log_scale = np.linspace(-6, 6, 121) * prior.sd_log_scale + prior.mean_log_scale
        log_shape = np.linspace(-5, 5, 101) * prior.sd_log_shape + prior.mean_log_shape
        scale, shape = np.meshgrid(np.exp(log_scale), np.exp(log_shape), indexing="ij")
        ages = DYING.exit[:, None, None]
        likelihood = np.asarray(stats.weibull_min.logpdf(ages, shape, scale=scale)).sum(axis=0)
        likelihood = np.exp(likelihood - likelihood.max())
        by_shape = stats.norm.pdf(log_shape, prior.mean_log_shape, prior.sd_log_shape)
        by_scale = stats.norm.pdf(log_scale[:, None], prior.mean_log_scale + offsets, own)
        told = np.einsum("sb,so,b->o", likelihood, by_scale, by_shape)
    weight = told * stats.norm.pdf(offsets, 0, shared_sd)
    own = np.sqrt(METAL.sd_log_scale**2 - shared_sd**2)
    log_scale = np.linspace(-6, 6, 201) * METAL.sd_log_scale + METAL.mean_log_scale
    log_shape = np.linspace(-5, 5, 101) * METAL.sd_log_shape + METAL.mean_log_shape
    prior = stats.norm.pdf(log_scale[:, None], METAL.mean_log_scale + offsets, own) @ weight
    joint = prior[:, None] * stats.norm.pdf(log_shape, METAL.mean_log_shape, METAL.sd_log_shape)
    chance = chance_of_failure(
        4, 4, scale=np.exp(log_scale)[:, None], shape=np.exp(log_shape)[None, :]
    )
    return float((chance * joint).sum() / joint.sum())


class TestShopPosteriors:
    def test_bodies_that_die_young_make_stems_suspect(self):
        assert metal_chance(DYING) > metal_chance(NO_LIVES) > metal_chance(LASTING)

    def test_by_as_much_as_brute_force_says(self):
        assert metal_chance(DYING, shared_sd=0.2) == pytest.approx(by_brute_force(0.2), abs=0.001)

    def test_a_family_alone_keeps_its_own_posterior(self):
        alone = shop_posteriors({"body": (DYING, BODY)})["body"].chance(3, 3)
        plain = posterior(DYING, BODY).chance(3, 3)
        assert alone.mean == pytest.approx(plain.mean, abs=1e-4)
        assert alone.low90 == pytest.approx(plain.low90, abs=1e-3)

    def test_families_without_records_say_nothing(self):
        families = {"body": (DYING, BODY), "metal_stem": (NO_LIVES, METAL)}
        told = shop_posteriors(families)["body"].chance(3, 3).mean
        assert told == pytest.approx(posterior(DYING, BODY).chance(3, 3).mean, abs=1e-4)

    def test_refuses_an_offset_wider_than_a_prior(self):
        with pytest.raises(ValueError, match="narrower") as refused:
            shop_posteriors({"body": (DYING, BODY)}, shared_sd=0.3)
        assert str(refused.value) == (
            "the shop's offset (0.3) must be narrower than the prior of “body” (0.25)"
        )


class TestShopOffset:
    def test_finds_that_all_parts_last_shorter_here(self):
        rng = np.random.default_rng(8)
        families = {}
        for name, prior in DEFAULT_PRIORS.items():
            scale, shape = np.exp(prior.mean_log_scale - 0.25), np.exp(prior.mean_log_shape)
            lives = [Life(exit=age, event=Event.FAILED) for age in scale * rng.weibull(shape, 200)]
            families[name] = (Lives.of(lives), prior)
        mean, sd = shop_offset(families)
        # 200 records fix each family's scale, so precisions add: 1/0.15² for the offset, and
        # 1/(sd² − 0.15²) a family; −0.25 is shrunk by their share, 54.4 of 98.8 (computed).
        precision = sum(1 / (prior.sd_log_scale**2 - 0.15**2) for _, prior in families.values())
        share = precision / (precision + 1 / 0.15**2)
        assert mean == pytest.approx(-0.25 * share, abs=0.02)
        assert sd == pytest.approx((precision + 1 / 0.15**2) ** -0.5, abs=0.005)

    def test_without_records_it_is_nothing_as_wide_as_assumed(self):
        assert shop_offset({"body": (NO_LIVES, BODY)}) == pytest.approx((0, 0.15), abs=1e-3)
