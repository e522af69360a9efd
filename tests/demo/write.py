"""Write the worked-out files of the bundled jobs: python -m tests.demo.write"""

from __future__ import annotations

from pathlib import Path

from tests.demo import bearing_cap_truth, pintle_truth, spacers_truth
from tests.demo.pintle_shape import pintle_plate
from tests.demo.solids import bored_box, stl

DEMO = Path(__file__).resolve().parents[2] / "src" / "setwright" / "demo"


def written() -> dict[str, bytes]:
    """Content of every worked-out file by its path under the bundled jobs."""
    cap_blank = bored_box((124.0, 84.0, 32.0), (62.0, 42.0), 30.0)
    return {
        "bearing-cap/blank.stl": stl("bearing cap blank 124 x 84 x 32, bore A 30, mm", cap_blank),
        "bearing-cap/readings.toml": bearing_cap_truth.readings_text().encode(),
        "pintle/wanted.stl": stl("rudder pintle plate as drawn, inch, zero at the pintle bore, top of bar", pintle_plate()),
        "pintle/readings.toml": pintle_truth.readings_text().encode(),
        "spacers/readings.toml": spacers_truth.readings_text().encode(),
    }


if __name__ == "__main__":
    for name, content in written().items():
        (DEMO / name).write_bytes(content)
        print(f"{name}: {len(content)} bytes")
