package events

//go:generate go test -run TestGeneratedFiles -update
