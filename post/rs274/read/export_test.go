package read

// Slow makes every line go through the full interpreter.
func (o Options) Slow() Options { o.slow = true; return o }

// Shared makes n workers share the work in stretches of k events.
func (o Options) Shared(n, k int) Options { o.Workers, o.stretch = n, k; return o }

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
