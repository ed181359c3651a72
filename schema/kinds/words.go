package kinds

import "strings"

// meant returns the words that other people of the trade use for a kind, or for
// one of several: "isolator" is a switch to some and a diode to others. They are
// named in the message and never read. Common practice, no source.
func meant() map[string][]string {
	out := map[string][]string{}
	for _, line := range strings.Split(strings.TrimSpace(otherWords), "\n") {
		word, names, _ := strings.Cut(line, ": ")
		out[word] = strings.Fields(names)
	}
	return out
}

const otherWords = `
ac: aircon ac-load
ac-unit: aircon
air-con: aircon
air-conditioning: aircon
air-heater: heater
ais: electronics
anchor-winch: windlass
anti-siphon: vented-loop
antisiphon: vented-loop
appliance: load ac-load
autopilot: electronics
b2b: dc-charger
ball-valve: valve seacock
battery-isolator: switch relay
battery-monitor: monitor
battery-to-battery: dc-charger
bilge-alarm: alarm
bilge-blower: fan
bilge-pump: pump
bilge-switch: float-switch
bonding-point: bond
bulb: light
capstan: windlass
chartplotter: electronics
circulation-pump: pump
co-alarm: alarm
combi: inverter-charger
consumer: load
consumer-unit: ac-panel
cool-box: refrigerator
cooler: refrigerator aircon
cooling-unit: aircon refrigerator
dc-dc: dc-charger converter
dc-dc-charger: dc-charger
dc-dc-converter: converter
deck-wash: washdown
depth-sounder: electronics
device: load
diesel-heater: heater
disconnect: switch
distribution-block: block fuse-block
drain: cockpit-drain drain-pan
echo-sounder: electronics
engine-block: ground
equipment: load
filter: strainer
fresh-water-pump: pump
fuel-tank: tank
gate-valve: valve
gauge: monitor
genny: generator
gfci: rcd
gland: hull-fitting
high-water-alarm: alarm
holding-tank: tank
hull-opening: through-hull hull-fitting
hull-valve: seacock
instrument: electronics
instruments: electronics
isolating-switch: switch
isolating-transformer: transformer
isolator: switch galvanic-isolator relay
led: light
lights: light
log: hull-fitting electronics
macerator: pump toilet
mcb: ac-breaker breaker
mixer-tap: mixer
motor: engine load
mppt: charge-controller
nav-light: light
non-return-valve: check-valve
nrv: check-valve
one-way-valve: check-valve
plotter: electronics
post: stud
pressure-pump: pump
pv: solar
pwm: charge-controller
radar: electronics
radio: electronics
raw-water-pump: pump
raw-water-strainer: strainer
regulator: charge-controller
residual-current-device: rcd
scupper: cockpit-drain
sea-strainer: strainer
sea-valve: seacock
sea-water-pump: pump
shaft-seal: hull-fitting
shore-panel: ac-panel
shore-power: shore-inlet
shower-pump: pump
silencer: waterlock
siphon-breaker: vented-loop
smoke-alarm: alarm
solenoid: relay
split-charge: relay
split-charge-relay: relay
stereo: electronics
stern-gland: hull-fitting
stopcock: valve
t-piece: tee
terminal-strip: block
thruhull: through-hull
transducer: hull-fitting
usb: load
usb-socket: load
vhf: electronics
vsr: relay
washbasin: sink
water-pump: pump
water-tank: tank
wc: toilet
winch: windlass
wye: tee
y-piece: tee
zinc: anode
`
