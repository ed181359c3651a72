// Package kinds holds the kinds of part that an installation file may name: for
// each one what it joins, what it can be told, how current and water pass inside
// it, how it is drawn and ordered. A kind is data and small functions; it imports
// no solver. All is the only way in.
package kinds

import "fitout/schema"

// All returns the catalogue of every kind, in the order of the reference page:
// direct current, grounds, shore power, parts in both media, water. Each call
// builds it anew, so that two boats share nothing.
func All() *schema.Catalogue {
	return schema.NewCatalogue(
		battery(), alternator(), solar(), chargeController(), charger(), dcCharger(), converter(),
		inverter(), inverterCharger(),
		fuse(), breaker(), switchKind(), relay(), selector(),
		bus(), block(), stud(), panel(), fuseBlock(), shunt(),
		load(), light(), windlass(), thruster(), starter(), electronics(), fan(), heater(),
		refrigerator(), monitor(), alarm(),
		floatSwitch(), levelSensor(), thermostat(), control(),
		ground(), bond(), anode(),
		shoreInlet(), rcd(), acBreaker(), acPanel(), selectorAC(), galvanicIsolator(),
		transformer(), outlet(), acLoad(),
		pump(), aircon(), waterMaker(), calorifier(), engine(), generator(), toilet(),
		throughHull(), hullFitting(), seacock(), valve(), diverter(),
		strainer(), checkValve(), reliefValve(), bleed(), heatExchanger(), waterlock(), ventedLoop(),
		tee(), manifold(), tank(), accumulator(),
		sink(), shower(), sump(), icebox(), cockpitDrain(), drainPan(),
		tap(), mixer(), washdown(), dockWater(),
		deckFill(), deckPlate(), tankVent(),
	).Mean(meant())
}
