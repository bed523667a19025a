//go:build !race

package pooled

const raceDetector = false
