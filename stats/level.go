package stats

import "math"

// Level is the advantage of a whole curve's events over a line.
type Level struct {
	D, SE, Lo, Hi float64
	Verdict       int // +1 above the line, −1 below, 0 not shown
}

// Level compares the pooled rate with the line, D = sign·(ΣY/ΣN − line) with
// D ± t_.975·se: se from joint replicates times √(G/(G−1)), plus what a second
// kind of cluster adds. With one cluster se is infinite and nothing is shown.
func (c *Curve) Level(l Line, sign float64, second *SecondWay) Level {
	v := Level{D: sign * (c.Pooled - l.Value)}
	var m moments
	for r, p := range c.RepPooled {
		m.add(p - l.at(r))
	}
	extra := 0.0
	if second != nil {
		extra = second.pooledBeside(l.Second)
	}
	v.SE = math.Sqrt(m.variance()*c.inflate() + extra)
	half := c.quantiles.at(.975, c.DF(second)) * v.SE
	v.Lo, v.Hi = v.D-half, v.D+half
	if v.SE > 0 && v.Lo > 0 {
		v.Verdict = 1
	}
	if v.SE > 0 && v.Hi < 0 {
		v.Verdict = -1
	}
	return v
}
