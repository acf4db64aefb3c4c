"""Which magnetic model answers for which date: the one that is named, or the newest that holds."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray
from ..errors import DateOutsideModelError
from .magnetic_coefficients import load_models
from .magnetic_model import MagneticModel
from .magnetic_synthesis import StretchField

__all__ = ["MODELS", "ModelChoice", "choice_of"]

#: The models that can be named, by name, the one that holds first coming first.
MODELS = load_models()

_FIELDS = {
    name: tuple(StretchField(stretch) for stretch in model.stretches) for name, model in MODELS.items()
}


@dataclass(frozen=True, slots=True)
class ModelChoice:
    """Models that follow each other: each holds from its first year until the next one's, the last to its own end.

    ``stretches`` are those of all of them, each from its year in ``stretch_years`` on; ``model_years`` are the models'.
    """

    models: tuple[MagneticModel, ...]
    model_years: FloatArray
    stretches: tuple[StretchField, ...]
    stretch_years: FloatArray

    @property
    def first_year(self) -> float:
        """The first instant that any of the models holds for, as a decimal year."""
        return self.models[0].first_year

    @property
    def last_year(self) -> float:
        """The last instant, the end of 31 December."""
        return self.models[-1].last_year

    @property
    def allowed(self) -> str:
        """Which dates are answered for, by which model, as told to people."""
        first, last = self.models[0].first_date, self.models[-1].last_date
        if len(self.models) == 1:
            return f"{first} to {last}"
        return f"{first} to {last}: {', '.join(f'{model.name} from {model.first_date}' for model in self.models)}"

    def check_date(self, date: datetime.date) -> None:
        """Raise `DateOutsideModelError` for a date that none of the models holds for."""
        if not self.models[0].first_date <= date <= self.models[-1].last_date:
            raise DateOutsideModelError(
                f"{' and '.join(model.name for model in self.models)} do not hold for {date}"
                if len(self.models) > 1
                else f"{self.models[0].name} does not hold for {date}",
                member="date",
                value=date.isoformat(),
                allowed=self.allowed,
            )

    def stretch_of(self, decimal_year: FloatArray, earliest: float, latest: float) -> NDArray[np.intp] | int:
        """The stretch of each row, as an index; one number where all rows are of one, which costs less.

        ``earliest`` and ``latest`` of the years are known to the caller.
        """
        first, last = (int(self.stretch_years.searchsorted(year, "right")) - 1 for year in (earliest, latest))
        if first == last:
            return first
        return self.stretch_years.searchsorted(decimal_year, "right") - 1

    def model_of(self, decimal_year: FloatArray) -> NDArray[np.intp]:
        """The model of each row, as an index."""
        return np.maximum(self.model_years.searchsorted(decimal_year, "right") - 1, 0)

    def error_deg_nt(self, decimal_year: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """What the models leave out and how far off their main field is, for each row: as `DeclinationError` says."""
        year = np.asarray(decimal_year, dtype=np.float64)
        errors = [model.declination_error for model in self.models]
        surroundings = np.array([error.surroundings_deg_nt for error in errors])
        cores = [error.core_at(year) for error in errors]
        if len(errors) == 1:
            return np.full(year.shape, surroundings[0]), cores[0]
        model = self.model_of(year)
        return surroundings[model], np.choose(model, cores)


@cache
def choice_of(model: str | None = None) -> ModelChoice:
    """The model of that name, or without one all of them: at each date the one that began to hold last.

    Raises
    ------
    KeyError
        No model of `MODELS` has that name.
    """
    models = tuple(MODELS.values()) if model is None else (MODELS[model],)
    ends = [later.first_year for later in models[1:]] + [np.inf]
    stretches = [
        field
        for each, end in zip(models, ends, strict=True)
        for field in _FIELDS[each.name]
        if field.stretch.first_year < end
    ]
    return ModelChoice(
        models,
        np.array([each.first_year for each in models]),
        tuple(stretches),
        np.array([field.stretch.first_year for field in stretches]),
    )
