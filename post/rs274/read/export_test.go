package read

// Slow makes every line go through the full interpreter.
func (o Options) Slow() Options { o.slow = true; return o }

// The limits, for tests at and one past each.
const (
	LineHard   = lineHard
	DigitsMax  = digitsMax
	NumberMax  = numberMax
	DepthMax   = depthMax
	ParamMax   = paramMax
	CycleMax   = cycleMax
	FaultTexts = faultTexts
	BufSize    = bufSize
)
