package tables

import (
	"math"
	"strings"
	"testing"

	"fitout/schema/unit"
)

// Published check points: UNESCO 44 (density, specific heat, freezing point), ITTC
// and steam tables (viscosity, vapour pressure).
func TestWaterPublished(t *testing.T) {
	for _, r := range retyped(t, "water-property-checks.csv") {
		s := 0.0
		if _, after, ok := strings.Cut(r["fluid"], "S="); ok {
			s = mustFloat(after)
		}
		temp, _, _ := strings.Cut(r["state"], " ")
		if r["quantity"] == "freezing_point" {
			temp = "10"
		}
		w, err := WaterAt(GramPerKg(s), unit.Celsius(mustFloat(temp)))
		if err != nil {
			t.Fatal(err)
		}
		want := r.must("published_value")
		var got, tolerance float64
		switch r["quantity"] {
		case "density":
			got, tolerance = float64(w.Density), 0.6e-5
			if want == 1026.021 { // ITTC prints another equation of state
				tolerance = 0.1
			}
		case "specific_heat":
			got, tolerance = float64(w.Heat), 0.051
		case "freezing_point":
			got, tolerance = float64(w.Freezing), 0.6e-5
		case "kinematic_viscosity":
			got, tolerance = float64(w.Kinematic), 0.005*want
		case "vapour_pressure":
			got, tolerance = float64(w.Vapour), 0.002*want
		}
		if math.Abs(got-want) > tolerance {
			t.Errorf("%s %s %s: %.8g, published %s", r["quantity"], r["fluid"], r["state"], got, r["published_value"])
		}
	}
}

// The reference table, 0 to 40 °C, fresh and 35 g/kg, to its last printed digit.
func TestWaterTable(t *testing.T) {
	for _, r := range retyped(t, "water-fluid-properties.csv") {
		w, err := WaterOf(r["fluid"], unit.Celsius(r.must("temp_c")))
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range []struct {
			column string
			got    float64
			half   float64 // half a unit of the last digit
		}{
			{"density_kg_m3", float64(w.Density), 0.0051}, {"dynamic_viscosity_pa_s", float64(w.Dynamic), 0.51e-4 * r.must("dynamic_viscosity_pa_s")},
			{"kinematic_viscosity_m2_s", float64(w.Kinematic), 0.51e-4 * r.must("kinematic_viscosity_m2_s")}, {"specific_heat_j_kg_k", float64(w.Heat), 0.051},
			{"vapour_pressure_pa", float64(w.Vapour), 0.06},
		} {
			if math.Abs(p.got-r.must(p.column)) > p.half {
				t.Errorf("%s %s °C %s: %.7g, table %s", r["fluid"], r["temp_c"], p.column, p.got, r[p.column])
			}
		}
	}
	sea, _ := WaterOf("sea", 15)
	fresh, _ := WaterOf("fresh", 15)
	brackish, err := WaterOf("brackish", 15)
	if err != nil || brackish.Density <= fresh.Density || brackish.Density >= sea.Density || brackish.Kinematic <= fresh.Kinematic || brackish.Kinematic >= sea.Kinematic {
		t.Errorf("brackish does not lie between fresh and sea: %+v", brackish)
	}
	for _, bad := range []unit.Celsius{-3, 61} {
		if _, err := WaterOf("sea", bad); err == nil {
			t.Errorf("properties at %v", bad)
		}
	}
	if _, err := WaterOf("milk", 15); err == nil {
		t.Error("milk has properties")
	}
}

// Loss factors of the reference; L/D factors through the friction factor. WX-03 of
// the worked examples: angle valve, L/D 150, fT 0.0165, K 2.475 (the bore whose fT is
// 0.0165 lies between 78 and 102 mm).
func TestMinorLoss(t *testing.T) {
	for _, r := range retyped(t, "turbulent_factor.csv") {
		if got := TurbulentFactor(unit.Metre(r.must("bore_mm") / 1000)); !near(got, r.must("ft"), 1e-9) {
			t.Errorf("fT at %s mm: %v, want %s", r["bore_mm"], got, r["ft"])
		}
	}
	for _, r := range retyped(t, "k_values.csv") {
		l, ok := MinorLoss(r["id"], 0.02664)
		want, fixed := r.num("k")
		if !fixed {
			want = r.must("l_over_d") * 0.0223 // fT of 26.64 mm, TP-410
		}
		if !ok || !near(l.K, want, 1e-9) {
			t.Errorf("%s: %v, want %v", r["id"], l.K, want)
		}
	}
	if got := 150 * TurbulentFactor(0.0925); math.Abs(got-2.475) > 0.03 {
		t.Errorf("angle valve by length over diameter: %.3f, TP-410 prints 2.475", got)
	}
	// Borda–Carnot and TP-410 closed forms at β = 0.5.
	if e, c := Expansion(0.01, 0.02), Contraction(0.02, 0.01); !near(e, 0.5625, 1e-12) || !near(c, 0.375, 1e-12) {
		t.Errorf("expansion %v, contraction %v", e, c)
	}
	if HoseTail(0.019, 0.019) != 0 || HoseTail(0.019, 0) <= 0 || HoseTail(0.019, 0.0127) <= HoseTail(0.019, 0.0159) {
		t.Error("a narrower tail does not cost more")
	}
}

func TestRoughness(t *testing.T) {
	for _, tt := range []struct {
		words string
		mm    float64
	}{{"rubber with wire", 0.0015}, {"PVC, steel wire", 0.0015}, {"copper tube", 0.00152}, {"galvanised pipe", 0.152}, {"steel", 0.046}, {"corrugated bilge hose", 3}, {"", 0.0015}} {
		if got, cite := Roughness(tt.words); !near(float64(got)*1e3, tt.mm, 1e-12) || cite.IsZero() {
			t.Errorf("%q: %v mm, want %v", tt.words, float64(got)*1e3, tt.mm)
		}
	}
}

// Orifice table of the Britannica's Hydraulics, half-inch hole, and WX-28: 1 in at
// 4 ft, 0.6087.
func TestOrifice(t *testing.T) {
	for _, r := range retyped(t, "orifice.csv") {
		got := OrificeThinPlate(unit.Head(r.must("head_ft")*0.3048), 0.5*0.0254)
		if math.Abs(got-r.must("cd")) > 0.006 {
			t.Errorf("%s ft: %.4f, table %s", r["head_ft"], got, r["cd"])
		}
	}
	if got := OrificeThinPlate(4*0.3048, 0.0254); !near(got, 0.6087, 0.001) {
		t.Errorf("1 in at 4 ft: %.4f", got)
	}
	// Ideal flow 19.64 d² √h US gpm is what the published flooding tables hold.
	for _, r := range retyped(t, "water-flooding-rates.csv") {
		d, h := r.must("hole_diameter_in")*0.0254, r.must("depth_ft")*0.3048
		q := unit.LitrePerMin(OrificeIdeal * math.Pi / 4 * d * d * math.Sqrt(2*9.80665*h) * 6e4)
		if gpm := float64(q) / 3.785411784; !near(gpm, r.must("ideal_us_gpm_cd1"), 0.001) {
			t.Errorf("%s in at %s ft: %.2f gpm, table %s", r["hole_diameter_in"], r["depth_ft"], gpm, r["ideal_us_gpm_cd1"])
		}
	}
}

func TestThreadsAndHoses(t *testing.T) {
	for _, r := range retyped(t, "threads.csv") {
		th, ok := ThreadOf(r["inch"], r["thread"])
		if !ok || th.PerInch != r.must("tpi") || float64(th.Angle) != r.must("angle_deg") || !near(float64(th.Major)*1e3, r.must("major_mm"), 1e-9) {
			t.Errorf("%s %s: %+v", r["inch"], r["thread"], th)
		}
	}
	forms := []string{"npt", "nps", "bspt", "bspp"}
	for _, a := range forms {
		for _, b := range forms {
			ok, reason, _ := ThreadsMate(a, b)
			if ok != (a == b) || ok != (reason == "") {
				t.Errorf("%s on %s: %v, %q", a, b, ok, reason)
			}
		}
	}
	if got := OneBoreSmaller(0.01905); !near(float64(got), 0.0159, 1e-9) {
		t.Errorf("one below 3/4 in is %v", got)
	}
	if got := OneBoreSmaller(0.019); !near(float64(got), 0.0159, 1e-9) {
		t.Errorf("one below 19 mm is %v", got)
	}
	for _, tt := range []struct {
		rating string
		use    HoseUse
		want   bool
	}{{"below waterline", SeaUse, true}, {"exhaust", SeaUse, true}, {"sanitation", SeaUse, true}, {"drain", SeaUse, false}, {"potable", SeaUse, false}, {"", SeaUse, false},
		{"sanitation", WasteUse, true}, {"below waterline", WasteUse, false}, {"potable", PotableUse, true}, {"exhaust", ExhaustUse, true}, {"below waterline", ExhaustUse, false}, {"drain", DrainUse, true}} {
		if got, _ := HoseSuits(tt.rating, tt.use); got != tt.want {
			t.Errorf("%q for %v: %v", tt.rating, tt.use, got)
		}
	}
}

// Metals: ISO 9093 forbids copper alloy with aluminium; steel and bronze lie more
// than 0.20 V apart even at the nearest (ACA potentials, −0.60 against −0.32 V).
func TestMetals(t *testing.T) {
	for _, tt := range []struct {
		a, b  string
		clash bool
	}{{"bronze", "aluminium", true}, {"aluminium", "dzr-brass", true}, {"bronze", "steel", true}, {"stainless-316", "aluminium", true}, {"bronze", "bronze", false}, {"bronze", "dzr-brass", false},
		{"bronze", "stainless-316", false}, {"dzr-brass", "stainless-316", false}, {"bronze", "composite", false}, {"stainless-316", "steel", true}} {
		if got, _, _ := MetalsClash(tt.a, tt.b); got != tt.clash {
			t.Errorf("%s on %s: %v", tt.a, tt.b, got)
		}
	}
	if a, ok := Galvanic("bronze", "steel"); !ok || !near(float64(a.Least), 0.28, 1e-9) || a.Mid < a.Least || a.Most < a.Mid {
		t.Errorf("bronze and steel: %+v", a)
	}
	for _, m := range materials() {
		if m.SeaValve != (m.Reason == "") {
			t.Errorf("%s: %+v", m.Word, m)
		}
		if _, _, ok := potential(m.Word); ok != m.Metal {
			t.Errorf("%s: potential known %v, metal %v", m.Word, ok, m.Metal)
		}
	}
}

func TestHeel(t *testing.T) {
	for _, r := range retyped(t, "water-heel-heights.csv") {
		got := DryHeight(unit.Degree(r.must("heel_deg")), unit.Metre(r.must("offset_from_centreline_m")))
		if math.Abs(float64(got)*1e3-r.must("min_height_above_upright_wl_mm")) > 0.51 {
			t.Errorf("%s° at %s m: %.1f mm", r["heel_deg"], r["offset_from_centreline_m"], float64(got)*1e3)
		}
	}
	for _, tt := range []struct {
		set         Set
		hull        string
		sheer, beam unit.Metre
		want        float64
		assumed     bool
	}{
		{US, "motor", 0, 0, 7, false}, {ISO, "multihull", 1, 5, 7, false}, {ISO, "sail", 0, 3, 30, true}, {US, "sail", 1, 0, 30, true},
		{ISO, "sail", 1.1, 3.3, 30, false}, {US, "sail", 1.1, 3.3, 33.690068, false}, {ISO, "sail", 0.5, 4, 14.036243, false}, {US, "sail", 0.5, 4, 14.036243, false},
	} {
		h := DefaultHeel(tt.set, tt.hull, tt.sheer, tt.beam)
		if !near(float64(h.Angle), tt.want, 1e-6) || h.Assumed != tt.assumed {
			t.Errorf("%v %s sheer %v: %v", tt.set, tt.hull, tt.sheer, h)
		}
	}
}

// Capacities of 46 CFR 182.520(a) and ISO 15083:2020 by length; the figures are
// those of the reference table.
func TestBilgeCapacity(t *testing.T) {
	ref := map[float64]bool{}
	for _, r := range retyped(t, "water-bilge-pumps.csv") {
		ref[r.must("min_l_per_min")] = true
	}
	for _, tt := range []struct {
		set         Set
		hull        unit.Metre
		persons     int
		category    string
		power, hand unit.LitrePerMin
		count       int
	}{
		{US, 10.4, 6, "", 38, 19, 1}, {US, 7.8, 4, "", 0, 19, 0}, {US, 19.8, 60, "", 95, 38, 1}, {US, 21, 6, "", 190, 0, 2},
		{ISO, 6, 4, "D", 10, 0, 1}, {ISO, 10.4, 6, "C", 15, 15, 1}, {ISO, 12, 6, "A", 30, 30, 1},
	} {
		n := BilgeCapacity(tt.set, tt.hull, tt.persons, tt.category)
		if n.Power != tt.power || n.Hand != tt.hand || n.Count != tt.count {
			t.Errorf("%v %v: %+v", tt.set, tt.hull, n)
		}
		for _, q := range []unit.LitrePerMin{n.Power, n.Hand} {
			if q != 0 && !ref[float64(q)] {
				t.Errorf("%v %v: %v is not in the reference", tt.set, tt.hull, q)
			}
		}
	}
}

// Condenser figures: WX-23 (15 000 BTU/h, 10 °F, fresh: 3.0 gpm) by our share and
// rise, with water at 85 to 95 °F.
func TestCondenser(t *testing.T) {
	w, err := WaterOf("fresh", 32)
	if err != nil {
		t.Fatal(err)
	}
	heat, _ := unit.ParseWatt("12000 BTU/h")
	q := float64(heat) * float64(RejectedShare) / (float64(w.Density) * float64(w.Heat) * float64(WaterRise)) * 6e4 / 3.785411784
	if !near(q, 3.0, 0.01) {
		t.Errorf("12 000 BTU/h of cooling wants %.3f gpm", q)
	}
}
