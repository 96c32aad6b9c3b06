"""How long 20,000 colours of 5 layers at 31 wavelengths take, against two baselines in the same run.

Baselines: colour-science point by point (timed on a sample of points and multiplied up; it starts from ready
spectra, so it does less than ours), and NumPy's float32 exp of one number per layer, point and wavelength.
The two that are set in ratio are timed in turn, so that a busy machine slows both; the median of the ratios
counts. BLAS may use one thread. Run on idle cores: python timings/colour.py
"""

import importlib
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
from threadpoolctl import threadpool_info, threadpool_limits

from firstbake.colour import LowerEnd, labs_of, spectra_of, stack_of
from firstbake.powder import parametric_optics

POINTS, LAYERS, WAVELENGTHS = 20_000, 5, 31
SAMPLE, ROUNDS = 300, 41
# invented: S550, p, K0, Kb in 1/mm
POWDERS = (
    (40, 0.4, 0.26, 5.4),
    (2.9, 0.9, 0.04, 1.7),
    (3.2, 0.9, 0.04, 0.65),
    (1.1, 1.3, 0.035, 0.2),
    (0.25, 1.5, 0.013, 0.057),
)
MOST_MM = (0.2, 0.8, 0.8, 0.6, 0.4)


def seconds(work: Callable[[], object]) -> float:
    """Wall time of one call, s."""
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def library() -> ModuleType:
    """colour-science; this file's own name would stand before it on the path."""
    here = Path(__file__).resolve().parent
    sys.path[:] = [entry for entry in sys.path if Path(entry).resolve() != here]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return importlib.import_module("colour")


def main() -> None:
    """Print times and ratios, with one thread for BLAS."""
    with threadpool_limits(1):
        measure(library())


def measure(colour: ModuleType) -> None:
    """Print times and ratios."""
    random = np.random.default_rng(1)
    stack = stack_of([parametric_optics(*numbers) for numbers in POWDERS], LowerEnd(np.full(31, 0.4), None))
    thickness = random.uniform(0.0, 1.0, (POINTS, LAYERS)) * MOST_MM
    exponents = -random.uniform(0.0, 3.0, (LAYERS, WAVELENGTHS, POINTS)).astype(np.float32)
    filled = np.empty_like(exponents)

    def ours() -> object:
        return labs_of(stack, thickness, geometry="45/0")

    def baseline() -> object:
        return np.exp(exponents, out=filled)

    pairs = np.array([(seconds(ours), seconds(baseline)) for _ in range(ROUNDS)])[3:]
    spectra = spectra_of(stack, thickness[:SAMPLE], geometry="45/0")
    cmfs, light = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"], colour.SDS_ILLUMINANTS["D65"]
    nm = np.arange(400.0, 701.0, 10.0)

    def point_by_point() -> object:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return [
                colour.XYZ_to_Lab(
                    colour.sd_to_XYZ(colour.SpectralDistribution(row, nm), cmfs, light, method="ASTM E308")
                    / 100
                )
                for row in spectra
            ]

    point_by_point()
    slow = seconds(point_by_point) / SAMPLE * POINTS
    threads = [f"{pool['internal_api']} {pool['num_threads']}" for pool in threadpool_info()]
    print(f"BLAS threads: {', '.join(threads) or 'not known'}")
    what = f"{POINTS} points, {LAYERS} layers, {WAVELENGTHS} wavelengths"
    print(f"ours, {what}: median {1e3 * np.median(pairs[:, 0]):.1f} ms")
    print(f"NumPy float32 exp of {exponents.size} numbers: median {1e3 * np.median(pairs[:, 1]):.1f} ms")
    print(f"ratio to that: {np.median(pairs[:, 0] / pairs[:, 1]):.2f} (wanted at most 5, aim 3)")
    print(f"colour-science point by point: {slow:.1f} s, multiplied up from {SAMPLE} points")
    print(f"times faster than that: {slow / np.median(pairs[:, 0]):.0f} (wanted at least 500)")


if __name__ == "__main__":
    main()
