package read

// What a program does not state of its beam is not known: M5 and S0 may not be in force
// when it begins, and a power left over burns as well as one that is stated.

// needBeam reports what a move depends on of the beam and nobody stated.
func (x *interp) needBeam(b *block, motion int16) {
	if !x.beamTold && (!x.switchStated || !x.powerStated) {
		x.beamTold = true
		x.say(BeamUnstated, b.axisCol, "the first move comes before both M5 and S0 are stated: the beam may be on", "write M5 and S0 before the first move")
	}
	if motion != 0 {
		x.needPower(b.axisCol)
		if !x.switchTold && !x.switchStated && x.s > 0 {
			x.switchTold = true
			x.say(SwitchUnstated, b.axisCol, "a cut with S above 0, and no M3, M4 or M5 before it", "write M3 or M4 where the beam is meant to be on")
		}
	}
	x.settle()
}

// needPower reports a beam that is on at a power nobody stated.
func (x *interp) needPower(col uint16) {
	if x.beam && !x.powerTold && !x.powerStated && x.turn != Off {
		x.powerTold = true
		x.say(PowerUnstated, col, "the beam is switched on and no S says how strong", "write S before the beam is on")
	}
}

// settle notes when nothing more of this kind can be found.
func (x *interp) settle() {
	x.settled = !x.beam || (x.switchStated || x.switchTold) && (x.powerStated || x.powerTold) && (x.beamTold || x.switchStated && x.powerStated)
}
