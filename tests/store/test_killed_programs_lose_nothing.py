"""A process killed at any instant loses no acknowledged event, and the ledger proves whole on the next start."""

import os
import random
import signal
import subprocess
import sys
import textwrap
import time

import pytest

from findhold.store.ledger import open_ledger
from findhold.store.prove import prove

WRITER = textwrap.dedent(
    """
    import sys
    from datetime import datetime, timezone
    from pathlib import Path
    from findhold.record.events import NewEvent
    from findhold.store.ledger import Stamp, open_ledger

    ledger = open_ledger(Path(sys.argv[1]))
    number = 0
    while True:
        number += 1
        stamp = Stamp(person="MH", device=sys.argv[2], now=datetime.now(timezone.utc))
        body = {"number": f"{sys.argv[2]}-{number}", "note": "x" * 400}
        with ledger.writing(stamp) as writing:
            writing.append([NewEvent(word="thing.entered.1", stream=f"find/WCR26/{sys.argv[2]}-{number}", body=body)])
        print(number, flush=True)   # the acknowledgement: only after the transaction has ended
    """
)


@pytest.mark.parametrize("seed", range(4))
def test_every_acknowledged_event_survives_a_kill(ledger, seed):
    ledger.close()
    device = f"k{seed}"
    command = [sys.executable, "-c", WRITER, str(ledger.path), device]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        first = process.stdout.readline()
        time.sleep(random.Random(seed).uniform(0.05, 0.4))
        os.kill(process.pid, signal.SIGKILL)
        rest = process.stdout.read()
    acknowledged = [int(line) for line in (first + rest).split()]
    assert acknowledged
    again = open_ledger(ledger.path)
    proof = prove(again)
    kept = {thing.number for thing in again.states("find")}
    again.close()
    assert proof.whole, proof.fault
    assert {f"{device}-{number}" for number in acknowledged} <= kept
