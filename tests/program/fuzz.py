"""Damaged programs by the thousand: `python -m tests.program.fuzz [COUNT [SEED]]`.

Takes small programs of every kind (and, if $SETWRIGHT_CORPUS is set, the texts there), damages them, reads them with the default
and with a lenient profile, and infers a profile. Anything but a path or a located refusal is printed with its seed, as is a text
that takes more than ten seconds of processor time. Writes nothing. A hundred of the same run in the test suite.
"""

from __future__ import annotations

import os
import random
import resource
import sys
import time
import traceback
from pathlib import Path

import numpy as np

from setwright.base.errors import InputRefused
from setwright.program.infer import infer
from setwright.program.interpret import interpret
from setwright.program.profile import Profile
from setwright.program.registers import Registers
from setwright.program.run import Limits
from setwright.program.source import Source

__all__ = ["SEEDS", "damage", "read_damaged"]

SEEDS = (
    "G21 G90 G17\nT1 M6\nS900 M3\nG0 X0. Y0. Z25.\nG43 H1 Z5.\nG1 Z-1. F250.\nG3 X10. Y10. R10.\nG2 I5.\nG91 X1. Y-2.\nG90 M30\n",
    "%\nO12\nG20 G54\nG41 D1 G1 X1. F9.\nY2.\nG2 X2. Y3. I1.\nG1 X4.\nG40 Y5.\nG28 G91 Z0.\nM30\n%\n",
    "G21 S1 M3\nG0 Z9.\nG98 G83 X1. Y1. Z-5. R1. Q2. F9.\nX5. K2\nG80\nG16\nG81 X5. Y30. R1. Z-2.\nG15 G80\nM30\n",
    "O1\n#1=0\nWHILE[#1 LT 5]DO1\nG1 X[#1*COS[#1]] Y#1 F[100+#1]\n#1=#1+1\nIF[#1 EQ 3]THEN #2=1\nEND1\n"
    "G65 P2 A1. B#1\nM98 P2 L2\nM30\nO2\nX#1\nM99\n",
    "G52 X1. Y2.\nG68 X0. Y0. R30.\nG51 P2.\nG0 X5.\nG50\nG69\nG92 X0.\n"
    "G10 L2 P1 X5. R10.\nG54.1 P3\nG18 G2 X1. Z1. I1.\nG51.1 X0.\nX3.\nG50.1\nM30\n",
    "(T1 D=10 (END MILL))\n/2 G0 X1.\nN10 G4 P100\nGOTO20\nN20 M97 P30\nM30\nN30 G1 X2. F1.\nM99\n#3000=1 (NO)\n",
    "G21 S1 M3 F9.\nG1 X9. ,R2.\nY8. ,C1.\nX0.\nG41 D1 Y5. ,R1\nX9.\nG40 Y1.\nT2 M6\nG13 Z-1. I9. K12. Q1. D2 L2\n"
    "G65 P3 I1. J2. I3. J#1\nM30\nO3\nX#7\nM99\n",
)
LENIENT = Profile(
    name="lenient", local_calls="M97", length_without_h="current tool", radius_without_d="current tool", other_m_codes="remark",
    first_motion="G1", arc_mismatch_mm=1.0, word_without_number="zero", nested_comments="count", cycle_without_r="current level",
    t_word="number.register", rotary_words="at zero", corner_words="cut the corner", pocket_circle="straight in",
    change_motion="all home",
)  # fmt: skip
ALPHABET = "GXYZIJKRFMSTHDPQLNO#[]=+-*/.0123456789 \n();%,ABE"
_SLOW_S = 10.0


def damage(text: str, rng: random.Random) -> str:
    """The text with a few characters changed, taken out, put in, or lines moved and doubled."""
    lines = text.split("\n")
    for _ in range(rng.randint(1, 6)):
        kind = rng.randrange(7)
        i = rng.randrange(len(lines))
        line = lines[i]
        at = rng.randrange(len(line) + 1)
        if kind == 0:
            lines[i] = line[:at] + rng.choice(ALPHABET) + line[at:]
        elif kind == 1:
            lines[i] = line[:at] + line[at + 1 :]
        elif kind == 2:
            lines[i] = line[:at] + rng.choice(ALPHABET) + line[at + 1 :]
        elif kind == 3:
            lines.insert(rng.randrange(len(lines)), line)
        elif kind == 4 and len(lines) > 1:
            del lines[i]
        elif kind == 5:
            words = line.split(" ")
            rng.shuffle(words)
            lines[i] = " ".join(words)
        else:
            lines[i] = line + " " + rng.choice(rng.choice(SEEDS).split())
    return "\n".join(lines)


def read_damaged(text: str, *, registers: Registers) -> None:
    """Read with both profiles and infer one; checks what holds for every text. Raises AssertionError or what fell."""
    try:
        profiles = [Profile(), LENIENT, infer([Source("t", text)]).profile]
    except InputRefused:
        return
    for profile in profiles:
        result = interpret([Source("t", text)], profile=profile, registers=registers, limit=Limits(blocks=20_000, rows=50_000))
        path = result.path
        assert result.end != "stopped" or result.problems
        assert all(problem.span is not None and problem.what for problem in result.problems)
        assert np.isfinite(path.start).all()
        assert np.isfinite(path.end).all()
        assert np.isfinite(path.arc_centre).all()
        assert np.isfinite(path.arc_sweep).all()
        same = path.frame[1:] == path.frame[:-1]
        assert np.abs(path.start[1:][same] - path.end[:-1][same]).max(initial=0.0) <= 1e-6
        assert all(0 <= event.before <= len(path) for event in path.events)


def main() -> None:
    """Run and print what fell."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    texts = list(SEEDS)
    folder = os.environ.get("SETWRIGHT_CORPUS")
    if folder:
        texts += [path.read_bytes().decode("latin-1")[:6000] for path in sorted(Path(folder).glob("s*"))]
    registers = Registers(radii={1: 2.0, 2: -3.0, 7: 0.5}, lengths={1: 50.0, 2: 60.0})
    fell = slow = 0
    for number in range(seed, seed + count):
        rng = random.Random(number)
        text = damage(rng.choice(texts), rng)
        begin = time.process_time()
        try:
            read_damaged(text, registers=registers)
        except Exception:  # noqa: BLE001  (whatever falls is the finding)
            fell += 1
            print(f"seed {number}:\n{text}\n{traceback.format_exc(limit=-4)}\n")
        if (took := time.process_time() - begin) > _SLOW_S:
            slow += 1
            print(f"seed {number} took {took:.1f} s")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{count} damaged texts from seed {seed}: {fell} fell, {slow} were slow, most memory {peak:.0f} MiB")


if __name__ == "__main__":
    main()
