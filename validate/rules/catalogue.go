package rules

// All returns every rule in the order of the catalogue.
func All() []Rule {
	return []Rule{
		unfusedRun, fuseTooFar, fuseExceedsWire, protectionSum, exemptionUsed,
		breakerAutomatic, wireBelowMinimum, protectionVoltage, protectionWrongPole, noDisconnect, unswitchedNeeded,
		pumpNotAlone, studCount, liveStudOpen, shuntBypassed, openCircuit, shortCircuit, voltageMismatch,
		unlikeBatteries, bankUnbalanced, chargeMismatch, chargeBypass, alternatorUnprotected, ignitionRisk,
		enginesNotJoined, returnSmaller, groundTooSmall, parallelTooSmall, colourCode, noLabel, noPlace,
		shoreMain, shoreResidual, shoreEarth, shoreGalvanic, neutralBond, twoSourcesLive,
		wireOverloaded, switchOverload, busOverload, fuseBelowLoad, voltageDrop, undervoltage, interruptRating,
		faultCannotClear, protectionOrder, batteryCurrent, runTime, cannotSustain, sourceOverload, noSolution,
		noSeacock, singleClamp, floodsByGravity, rimFloods, siphonPath, loopTooLow, loopWrongLeg, dryEnd,
		bilgeDischargeLow, exhaustFloods, ventDips, seacockMaterial, threadMismatch, metalsMixed, hoseUnsuited,
		airTrap, pumpNotFlooded, noStrainer, strainerOrder,
		boreMismatch, boreReduced, sharedIntake, sharedDischarge, scoopRams, dischargeHidden, drainUnsafe, wasteDirect,
		tankUnvented, freshCrossConnection, reliefBlocked, spaceWithoutPump, ventSags,
		flowTooLow, pumpCannotLift, velocityHigh, suctionLow, pumpOffCurve, bilgeCapacity, valveDrowns, loopDrawsAir,
		alarmMissing, exhaustNoAlarm, alarmUntested, oneValveMany, singlePoint, leftOn, readingOff, deviationUnused,
	}
}
