//go:build race

package pooled

// raceDetector slows numbers down tenfold; the calibration then takes fewer sets.
const raceDetector = true
