package pack

import (
	"strconv"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/schema/boattest"
)

// The plan is seen from above, not in a mirror: whoever faces the bow has starboard
// on the right hand, and the right hand of a heading (x, y) on paper, y down, is
// (-y, x).
func TestStarboardIsTheRightHand(t *testing.T) {
	m := &maker{Input: inputOf(boattest.Read(t, `
vessel: {name: Hands, length: 10 m, beam: 3 m}
parts:
  R: {kind: battery, station: 5 m, offset: 1 m}
  L: {kind: battery, station: 5 m, offset: -1 m}
`))}
	at := draw.Point{X: 20, Y: 10}
	items := m.plan(m.boat().Parts).items(at, 180)
	var bow draw.Point
	marks := map[string]draw.Point{}
	draw.EachText(items[0], func(x draw.Text) {
		if x.S == "bow" {
			bow = x.At
		} else {
			marks[x.S] = x.At
		}
	})
	right, left := marks[strconv.Itoa(1)], marks[strconv.Itoa(2)]
	mid := draw.Point{X: (right.X + left.X) / 2, Y: (right.Y + left.Y) / 2}
	head := draw.Point{X: bow.X - mid.X, Y: 0}
	side := draw.Point{X: -head.Y, Y: head.X} // the right hand of the heading
	if dot := (right.X-mid.X)*side.X + (right.Y-mid.Y)*side.Y; dot <= 0 {
		t.Errorf("starboard lies to the left of one who faces the bow: bow %v, starboard %v, port %v", bow, right, left)
	}
	if said, ok := m.where()[0].blocks[0].(para); !ok || !strings.Contains(string(said), "starboard above") {
		t.Errorf("the text says otherwise: %q", said)
	}
}
