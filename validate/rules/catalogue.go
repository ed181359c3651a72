package rules

// All returns every rule in the order of the catalogue.
func All() []Rule {
	return []Rule{
		unfusedRun, fuseTooFar, fuseExceedsWire, protectionSum, exemptionUsed,
		noSeacock, singleClamp, floodsByGravity, rimFloods, siphonPath, loopTooLow, loopWrongLeg, dryEnd,
		bilgeDischargeLow, exhaustFloods, ventDips, seacockMaterial, threadMismatch, metalsMixed, hoseUnsuited,
		flowTooLow, pumpCannotLift, velocityHigh, suctionLow, pumpOffCurve, bilgeCapacity, valveDrowns, loopDrawsAir,
		deviationUnused,
	}
}
