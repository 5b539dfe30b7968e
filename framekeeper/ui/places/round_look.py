"""What the tension round reads of the shop when somebody comes there or something changed."""

from __future__ import annotations

from dataclasses import dataclass

from framekeeper.domain.records import MeterRecord
from framekeeper.services.desk import Desk
from framekeeper.services.meters import meters
from framekeeper.services.settings import ShopSettings, read_settings
from framekeeper.services.tension_round import Stop, round_queue


@dataclass(frozen=True, slots=True)
class RoundLook:
    """The round at one moment; the shop is named for the memory of this bench."""

    stops: list[Stop]
    meters: list[MeterRecord]
    settings: ShopSettings
    shop: str


def look_at_round(desk: Desk) -> RoundLook:
    """Read the round."""
    return RoundLook(
        round_queue(desk),
        meters(desk),
        read_settings(desk),
        desk.shop.url.render_as_string(hide_password=True),
    )
