package bus

// SetReserve lets a test meet a really full disk.
func SetReserve(bytes int64) { reserve = bytes }

var WalkBlock = walkBlock
