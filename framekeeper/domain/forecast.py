"""The tension forecast: which screen will fall below its limit when, and how sure that is."""

from framekeeper.domain.forecast_fit import fit_fleet
from framekeeper.domain.forecast_model import FleetModel
from framekeeper.domain.forecast_readings import Observations

__all__ = ["FleetModel", "Observations", "fit_fleet"]
