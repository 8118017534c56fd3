package dropoff

// guard compares the candidates of the series, and withholds steps where noise
// alone looks as much like them more often than is asked.
func (c *choice) guard(s Series, o Options, where places) {
	c.proposed = c.path[c.chosen].Changes
	if c.n > mostDrawn {
		c.guardLong(s)
		c.compareLong(s, o, where)
		return
	}
	real := newContest(s, o, where)
	var rates alarms
	if c.chosen > 0 || real.best() > 0 {
		rates = falseAlarms(real, s, o, where)
	}
	c.compared = newComparison(real, rates, s, o)
	if c.chosen > 0 && rates.steps > o.asked() {
		c.chosen = 0
		c.settle(s.SE != nil)
	}
	c.alarm = rates.steps
}

// Likely is the probability below which a change is left out.
const Likely = 0.5

// prune takes one change less for as long as one of several is less likely
// than not.
func (c *choice) prune(b belief, s Series) {
	for c.chosen > 1 {
		found := c.found()
		least := 1.0
		for j, spot := range b.spots(c.zonesAbout(found)) {
			least = min(least, b.within(spot.interval(found[j])))
		}
		if least >= Likely {
			return
		}
		c.chosen--
		c.settle(s.SE != nil)
	}
}
