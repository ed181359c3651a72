package rules

// All returns every rule in the order of the catalogue.
func All() []Rule {
	return []Rule{
		unfusedRun, fuseTooFar, fuseExceedsWire, protectionSum, exemptionUsed,
		deviationUnused,
	}
}
