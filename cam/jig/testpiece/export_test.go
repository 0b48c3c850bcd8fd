package testpiece

// Mean is the mean of readings and its standard uncertainty, for tests.
func (g Gauge) Mean(v []float64, hand float64) (mean, u float64) { return g.mean(v, hand) }
