"""What pooling yields: a summary accuracy, how much studies differ, and what to expect in a new place."""

from dataclasses import dataclass
from math import nan, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fabella.stats.deferred import scipy
from fabella.stats.intervals import Interval, normal_quantile

NO_VARIANCE = 1e-6
"""Between-study variance of a logit below which accuracy does not vary: the optimiser's nought."""

Matrix = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pooled:
    """Summary sensitivity and specificity of several studies, on the logit scale unless said otherwise.

    Pairs and tables hold the sensitivity first, the specificity second.

    Parameters
    ----------
    method
        "REML" or "ML".
    level
        Confidence of `sensitivity` and `specificity` [-].
    n_studies, n_corrected
        Studies pooled, and how many of them had 0.5 added to their cells.
    mean_logit
        Summary logits.
    mean_covariance
        Covariance of the error of `mean_logit`.
    between_covariance
        Covariance of the true logits between studies.
    log_likelihood
        At the optimum; the restricted one with the term ln|X'X|/2 under REML.
    converged
        False when the optimiser stopped before the gradient vanished.
    warnings
        What a reader must know before trusting the numbers; empty when there is nothing.
    """

    method: Literal["REML", "ML"]
    level: float
    n_studies: int
    n_corrected: int
    mean_logit: tuple[float, float]
    mean_covariance: Matrix
    between_covariance: Matrix
    log_likelihood: float
    converged: bool
    warnings: tuple[str, ...]

    @property
    def sensitivity(self) -> Interval:
        """Return the summary sensitivity [-] with its interval by Student's t, n - 1 degrees of freedom.

        One study has the normal interval of its own counts; two count as three. Of simulated reviews of 3 (4,
        6, 8, 15) studies of 60 to 300 people a column intervals for 95 % held the truth in 98 (96, 96, 94,
        95) %; by the normal distribution 84 (85, 90, 90, 94) %.

        References
        ----------
        Why t, and these degrees of freedom: in studies so large that they err by nothing the mean of n logits
        is exactly so, which is also Hotelling's region for one of the two; univariate pooling of few studies
        has the same quantile (Hartung and Knapp 2001 Stat Med 20:3875-3889; Partlett and Riley 2017 Stat Med
        36:301-317; both from memory). Their factor on the standard error changed the simulated shares by 2
        in a hundred at most, and made some intervals narrower; it is left out.
        """
        return self._summary(0)

    @property
    def specificity(self) -> Interval:
        """Return the summary specificity [-] with its interval; as `sensitivity`."""
        return self._summary(1)

    @property
    def correlation(self) -> float:
        """Return the correlation of the true logits between studies; nan when either does not vary."""
        (first, both), (_, second) = self.between_covariance
        return both / sqrt(first * second) if min(first, second) > NO_VARIANCE else nan

    def confidence_region(
        self, *, level: float = 0.95, points: int = 100, small_sample: bool = True
    ) -> NDArray[np.float64]:
        """Return the border of where the summary point lies.

        Parameters
        ----------
        level
            Confidence [-].
        points
            Number of points on the border; first and last coincide.
        small_sample
            True: the squared radius of the ellipse is 2 (n-1)/(n-2) F(2, n-2), Hotelling's for n studies,
            exact when studies are large; fewer than 3 studies count as 3. False: chi-squared with 2 degrees
            of freedom, too narrow when studies are few.

        Returns
        -------
        array, shape (points, 2)
            1 - specificity and sensitivity: x and y of ROC space.

        Notes
        -----
        Simulated reviews of 8 (15, 30) studies of 60 to 300 people a column: regions for 90 % held the
        summary point in 91 (87, 90) % and a new place in 79 (85, 83) %; by chi-squared 80 (81, 87) % and
        71 (81, 81) %. Of 4 (5, 6) studies they held a new place in 85 (81, 76) %: a degree of freedom less,
        as some take for a new place, would mend that of 6 to 84 % and make that of 4 the whole of ROC space.

        References
        ----------
        Ellipses in ROC space: Harbord, Deeks, Egger, Whiting and Sterne 2007 Biostatistics 8:239-251; the
        radius: Hotelling 1931 Ann Math Stat 2:360-378 (both from memory).
        """
        return self._ellipse(self._mean_error, level, points, small_sample=small_sample)

    def prediction_region(
        self, *, level: float = 0.95, points: int = 100, small_sample: bool = True
    ) -> NDArray[np.float64]:
        """Return the border of where the true accuracy in a new place lies; as `confidence_region`."""
        return self._ellipse(self._new_place, level, points, small_sample=small_sample)

    @property
    def _df(self) -> int:
        return max(self.n_studies - 2, 1)

    @property
    def _quantile(self) -> float:
        if self.n_studies == 1:
            return normal_quantile(self.level)
        return float(scipy.special.stdtrit(self._df + 1, (1 + self.level) / 2))

    @property
    def _mean_error(self) -> NDArray[np.float64]:
        return np.array(self.mean_covariance)

    @property
    def _new_place(self) -> NDArray[np.float64]:
        return np.add(self.mean_covariance, self.between_covariance)

    def _summary(self, which: int) -> Interval:
        middle = self.mean_logit[which]
        reach = self._quantile * sqrt(self.mean_covariance[which][which])
        estimate, low, high = (
            float(scipy.special.expit(x)) for x in (middle, middle - reach, middle + reach)
        )
        return Interval(estimate=estimate, low=low, high=high, level=self.level)

    def _ellipse(
        self, covariance: NDArray[np.float64], level: float, points: int, *, small_sample: bool
    ) -> NDArray[np.float64]:
        df = self._df
        squared = (  # by scipy.special: scipy.stats takes longer to load than a page may
            2 * (df + 1) / df * scipy.special.fdtri(2, df, level)
            if small_sample
            else scipy.special.chdtri(2, 1 - level)
        )
        turn = np.linspace(0, 2 * np.pi, points)
        circle = np.sqrt(squared) * np.column_stack([np.cos(turn), np.sin(turn)])
        logits = np.array(self.mean_logit) + circle @ _root(covariance).T
        return np.asarray(scipy.special.expit(logits[:, ::-1] * [-1, 1]), dtype=np.float64)


def _root(covariance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return L with L L' = covariance, also when it is singular."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0)), dtype=np.float64)
