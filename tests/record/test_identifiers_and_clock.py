"""UUIDv7 and the hybrid logical clock against published examples."""

import uuid

import pytest

from findhold.record import clock, uuid7
from findhold.record.clock import Reading


def test_uuid7_of_the_standard_is_made_from_its_parts():
    # Source: RFC 9562 appendix A.6 example, parts as quoted in open code that cites the RFC (seen).
    made = uuid7.make(0x017F22E279B0, 0xCC3 << 62 | 0x18C4DC0C0C07398F)
    assert made == uuid.UUID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")
    assert made.version == 7
    assert made.variant == uuid.RFC_4122


@pytest.mark.parametrize(("unix_ms", "bits"), [(-1, 0), (1 << 48, 0), (0, 1 << 74), (0, -1)])
def test_parts_that_do_not_fit_are_refused(unix_ms, bits):
    with pytest.raises(ValueError, match="not fit"):
        uuid7.make(unix_ms, bits)


def test_identifiers_sort_by_time():
    made = [str(uuid7.make(ms, (1 << 74) - 1 - ms)) for ms in range(1_785_000_000_000, 1_785_000_000_050)]
    assert made == sorted(made)


def test_local_ticks_follow_the_worked_trace(authority):
    # Source: trace computed by hand from Kulkarni et al. 2014 (tests/authorities/hlc_trace.csv), local rows of A.
    start = Reading(0, 0)
    first = clock.tick(start, 10)
    sent = clock.tick(first, 10)
    set_back = clock.tick(Reading(12, 2), 2)
    later = clock.tick(set_back, 20)
    rows = {row["event"]: row for row in authority("hlc_trace.csv")}
    expected = {
        "A local": later,  # the last row of that name in the table
        "A send": sent,
        "A local (clock set back)": set_back,
    }
    for name, reading in expected.items():
        assert (reading.wall_ms, reading.count) == (int(rows[name]["l"]), int(rows[name]["c"])), name
    assert first == Reading(10, 0)


def test_a_clock_set_back_still_orders_events():
    readings = [Reading(0, 0)]
    for now in (100, 50, 50, 120, 10):
        readings.append(clock.tick(readings[-1], now))
    assert readings == sorted(readings)
    assert len(set(readings)) == len(readings)
