"""Geometry of a mesh and the load on its thread: what count and diameter say, and what they do not.

Everything here describes slack cloth and unwoven thread, as data sheets do. Numbers that come from
a rule instead of a data sheet are marked as estimates, so that screens and papers can say so.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import Sentence, say

CM_PER_INCH = 2.54
THICKNESS_PER_DIAMETER = 1.55  # published ratios of plain weave lie between 1.475 and 1.575
UPPER_BOUND_FROM_PER_CM = 120.0  # finer cloth has published openings below pitch minus diameter

# Published garment tensions of ordinary cloth load the thread with 125 to 175 MPa; derived from
# them, no standard behind it.
SUGGESTED_MPA, LOW_MPA, HIGH_MPA = 150.0, 125.0, 175.0
WARN_ABOVE_MPA, NOTHING_ABOVE_MPA = 200.0, 260.0
RULE_FROM_PER_CM, RULE_TO_PER_CM = 43.0, 120.0  # the counts that the published tensions cover
METER_END_N_PER_CM = 50.0  # meters of this class read up to here

_WEAVE = re.compile(r"[1-9]:[1-9]")


def _number(name: str, value: float, *, may_be_zero: bool = False) -> float:
    """Return a finite number above zero (or from zero), or refuse it by the argument's name."""
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = math.nan
    if math.isfinite(number) and (number > 0 or (may_be_zero and number == 0)):
        return number
    if may_be_zero:
        said = say("{name} must be a number from 0 upwards, not {value}.", name=name, value=value)
    else:
        said = say("{name} must be a number above 0, not {value}.", name=name, value=value)
    raise NotValid(said, argument=name)


def is_weave(text: object) -> bool:
    """Whether this is how a weave is written: threads over, threads under."""
    return isinstance(text, str) and _WEAVE.fullmatch(text) is not None


def per_cm(threads_per_inch: float) -> float:
    """Threads per cm of a count per inch (exact: an inch is 2.54 cm).

    >>> round(per_cm(230), 3)
    90.551
    """
    return _number("threads_per_inch", threads_per_inch) / CM_PER_INCH


def per_inch(threads_per_cm: float) -> float:
    """Threads per inch of a count per cm.

    >>> round(per_inch(55), 1)
    139.7
    """
    return _number("threads_per_cm", threads_per_cm) * CM_PER_INCH


def side_load_n(tension: float, length_mm: float) -> float:
    """Force in N of the cloth on one side of the frame: tension (N/cm) times its length (mm).

    The outer length gives a slightly high, thus cautious, number.

    >>> round(side_load_n(20, 1016))
    2032
    """
    across_cm = _number("length_mm", length_mm) / 10
    return _number("tension", tension, may_be_zero=True) * across_cm


@dataclass(frozen=True, init=False)
class Mesh:
    """One kind of cloth: its threads, openings, thickness, and what they carry.

    Parameters
    ----------
    threads_per_cm : float
        Count of the slack cloth, above 0.
    thread_um : float
        Nominal diameter of the thread before weaving, above 0 and smaller than the pitch.
    weave : str
        "1:1" for plain weave; "2:1", "2:2" and so on for twills.
    opening_um, thickness_um : float, optional
        From the data sheet; they win over the rules.

    Attributes
    ----------
    opening_um : float
        w = t - d unless given. `opening_is_estimate` tells which; where it also
        `is_upper_bound` (fine counts, twills), threads flatten and the true opening is smaller.
    thickness_um : float
        Given, or about 1.55 d (`thickness_is_estimate`); plain weave of 40 to 54 um thread was
        published at 1.475 to 1.575 d [1]_, nothing was found for thicker thread.

    Raises
    ------
    NotValid
        For anything that is not a finite number above 0, for thread as thick as the pitch, and for
        an opening as wide as the pitch; NaN is refused like any other bad number.

    References
    ----------
    .. [1] Screen Printing, "Mesh Matters", June 2009, and a published table of screens.

    Examples
    --------
    >>> mesh = Mesh(90, 48)
    >>> round(mesh.opening_um, 1), round(100 * mesh.open_area, 1), round(mesh.thread_stress_mpa(25))
    (63.1, 32.3, 154)
    """

    threads_per_cm: float
    thread_um: float
    weave: str
    opening_um: float
    thickness_um: float
    opening_is_estimate: bool
    thickness_is_estimate: bool

    def __init__(
        self,
        threads_per_cm: float,
        thread_um: float,
        *,
        weave: str = "1:1",
        opening_um: float | None = None,
        thickness_um: float | None = None,
    ) -> None:
        count = _number("threads_per_cm", threads_per_cm)
        thread = _number("thread_um", thread_um)
        if not is_weave(weave):
            raise NotValid(
                say("A weave is written like 1:1 or 2:2, not {weave}.", weave=weave),
                argument="weave",
            )
        pitch = 10_000 / count
        if thread >= pitch:
            raise NotValid(
                say(
                    "{count:.4g} threads of {thread:.4g} um do not fit into one centimetre: "
                    "no opening is left.",
                    count=count,
                    thread=thread,
                ),
                hint=say("Check whether the count is per inch or per cm."),
                argument="thread_um",
            )
        opening = pitch - thread if opening_um is None else _number("opening_um", opening_um)
        if opening >= pitch:
            raise NotValid(
                say(
                    "An opening of {opening:.4g} um leaves no room for thread at {count:.4g} "
                    "threads per cm.",
                    opening=opening,
                    count=count,
                ),
                argument="opening_um",
            )
        thickness = THICKNESS_PER_DIAMETER * thread
        if thickness_um is not None:
            thickness = _number("thickness_um", thickness_um)
        self._keep(
            threads_per_cm=count,
            thread_um=thread,
            weave=weave,
            opening_um=opening,
            thickness_um=thickness,
            opening_is_estimate=opening_um is None,
            thickness_is_estimate=thickness_um is None,
        )

    def _keep(self, **values: float | str | bool) -> None:
        for name, value in values.items():
            object.__setattr__(self, name, value)

    @property
    def threads_per_inch(self) -> float:
        """The count in the other unit; never the name under which the cloth was bought."""
        return self.threads_per_cm * CM_PER_INCH

    @property
    def pitch_um(self) -> float:
        """From one thread to the next: t = 10000 / n."""
        return 10_000 / self.threads_per_cm

    @property
    def is_twill(self) -> bool:
        """Whether a thread passes over more than one other."""
        return self.weave != "1:1"

    @property
    def is_upper_bound(self) -> bool:
        """Whether the true opening is smaller than the rule says: fine counts and twills."""
        fine = self.threads_per_cm >= UPPER_BOUND_FROM_PER_CM
        return self.opening_is_estimate and (fine or self.is_twill)

    @property
    def open_area(self) -> float:
        """(w / t)^2, as a fraction."""
        return (self.opening_um / self.pitch_um) ** 2

    @property
    def ink_volume_cm3_m2(self) -> float:
        """V = open area times thickness: ranks cloths, does not forecast the use of ink."""
        return self.open_area * self.thickness_um

    @property
    def cross_section_mm2_per_cm(self) -> float:
        """S = n pi d^2 / 4: the thread that carries the tension of one centimetre of cloth."""
        return self.threads_per_cm * math.pi * (self.thread_um / 1000) ** 2 / 4

    def thread_stress_mpa(self, tension: float) -> float:
        """T / S in MPa (N/cm over mm2/cm is N/mm2), for a tension in N/cm from 0 upwards."""
        return _number("tension", tension, may_be_zero=True) / self.cross_section_mm2_per_cm

    def tension_at_stress(self, mpa: float) -> float:
        """The tension in N/cm that loads the thread with `mpa`, from 0 upwards."""
        return _number("mpa", mpa, may_be_zero=True) * self.cross_section_mm2_per_cm


@dataclass(frozen=True, slots=True)
class TargetSuggestion:
    """A target for cloth without a data sheet, in N/cm; no numbers where the rule cannot hold."""

    tension: float | None
    low: float | None
    high: float | None
    warning: Sentence | None
    reason: Sentence


def suggest_target(mesh: Mesh) -> TargetSuggestion:
    """Suggest a tension for a mesh whose data sheet is not at hand.

    The rule loads the thread with 150 MPa (band 125 to 175). It was derived from published
    tensions of garment printing for 43 to 120 threads per cm; outside of these counts the
    suggestion carries a warning, and beyond what a meter can read there is none.

    Examples
    --------
    >>> round(suggest_target(Mesh(90, 48)).tension, 1)
    24.4
    """
    reason = say(
        "{mpa:.0f} MPa on the thread (usual: {low:.0f} to {high:.0f}), derived from published "
        "tensions of garment printing; a data sheet for this mesh wins.",
        mpa=SUGGESTED_MPA,
        low=LOW_MPA,
        high=HIGH_MPA,
    )
    tension = mesh.tension_at_stress(SUGGESTED_MPA)
    if tension > METER_END_N_PER_CM:
        warning = say(
            "By this rule the mesh would take {tension:.0f} N/cm, more than frames and meters of "
            "this class are made for; ask for its data sheet.",
            tension=tension,
        )
        return TargetSuggestion(None, None, None, warning, reason)
    return TargetSuggestion(
        tension=tension,
        low=mesh.tension_at_stress(LOW_MPA),
        high=mesh.tension_at_stress(HIGH_MPA),
        warning=_outside_the_rule(mesh),
        reason=reason,
    )


def _outside_the_rule(mesh: Mesh) -> Sentence | None:
    if RULE_FROM_PER_CM <= round(mesh.threads_per_cm) <= RULE_TO_PER_CM:
        return None
    return say(
        "The rule was derived from {low:.0f} to {high:.0f} threads per cm; for this count it is a "
        "guess.",
        low=RULE_FROM_PER_CM,
        high=RULE_TO_PER_CM,
    )


def target_warning(mesh: Mesh, tension: float) -> Sentence | None:
    """What to say about a target in N/cm that a person chose, or None where it is usual.

    Examples
    --------
    >>> str(target_warning(Mesh(120, 34), 24))
    '24.0 N/cm load the thread with 220 MPa; above 200 MPa the mesh may burst or not hold.'
    """
    stress = mesh.thread_stress_mpa(tension)
    if stress > NOTHING_ABOVE_MPA:
        return say(
            "{tension:.1f} N/cm load the thread with {stress:.0f} MPa; above {limit:.0f} MPa only "
            "the data sheet of the mesh can allow it.",
            tension=tension,
            stress=stress,
            limit=NOTHING_ABOVE_MPA,
        )
    if stress > WARN_ABOVE_MPA:
        return say(
            "{tension:.1f} N/cm load the thread with {stress:.0f} MPa; above {limit:.0f} MPa the "
            "mesh may burst or not hold.",
            tension=tension,
            stress=stress,
            limit=WARN_ABOVE_MPA,
        )
    return None
