package write

// The text functions, for the tests.
var (
	Fixed   = fixed
	Short   = short
	Clean   = clean
	Comment = comment
)
