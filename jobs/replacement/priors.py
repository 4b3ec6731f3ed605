"""What is believed about how long parts last before this shop has any record of its own."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from jobs.replacement.weibull import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """Normal, independent beliefs about log scale (years) and log shape."""

    mean_log_scale: float
    sd_log_scale: float
    mean_log_shape: float
    sd_log_shape: float

    def __post_init__(self) -> None:
        if self.sd_log_scale <= 0 or self.sd_log_shape <= 0:
            raise ValueError("a prior's standard deviations are above 0; a sure thing needs none")

    def log_density(self, log_scale: ArrayLike, log_shape: ArrayLike) -> Array:
        scale = (np.asarray(log_scale) - self.mean_log_scale) / self.sd_log_scale
        shape = (np.asarray(log_shape) - self.mean_log_shape) / self.sd_log_shape
        density: Array = -0.5 * (scale**2 + shape**2)
        return density

    def moved(self, offset: float) -> Self:
        """The same belief for a shop whose parts last e^offset times as long."""
        return type(self)(
            mean_log_scale=self.mean_log_scale + offset,
            sd_log_scale=self.sd_log_scale,
            mean_log_shape=self.mean_log_shape,
            sd_log_shape=self.sd_log_shape,
        )


# Assumptions all of them, which the owner can change; years.
DEFAULT_PRIORS = {
    "body": Prior(
        mean_log_scale=float(np.log(8.5)),
        sd_log_scale=0.25,
        mean_log_shape=float(np.log(5.0)),
        sd_log_shape=0.35,
    ),
    "rubber_stem": Prior(
        mean_log_scale=float(np.log(8.0)),
        sd_log_scale=0.35,
        mean_log_shape=float(np.log(2.5)),
        sd_log_shape=0.35,
    ),
    "metal_stem": Prior(
        mean_log_scale=float(np.log(13.0)),
        sd_log_scale=0.35,
        mean_log_shape=float(np.log(2.0)),
        sd_log_shape=0.35,
    ),
    "seal": Prior(
        mean_log_scale=float(np.log(6.0)),
        sd_log_scale=0.35,
        mean_log_shape=float(np.log(2.0)),
        sd_log_shape=0.35,
    ),
}
