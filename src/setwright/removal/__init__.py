"""Material removal on three bundles of rays, exact along every ray; contact; measurement of the simulated part."""
