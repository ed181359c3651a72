package qr

import (
	"image"
	"image/color"
	"math/rand/v2"
	"strings"
	"testing"

	"fitout/render/draw"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// scan prints strokes at eight dots a millimetre, a label printer's 203 dots an
// inch, and reads them with a decoder that shares no code with the encoder (a
// port of ZXing).
func scan(t *testing.T, side draw.MM, strokes []draw.Stroke) (string, error) {
	t.Helper()
	const dots = 8
	n := int(float64(side)*dots + 0.5)
	img := image.NewGray(image.Rect(0, 0, n, n))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for _, s := range strokes {
		b := s.Bounds()
		for y := int(b.Min.Y*dots + 0.5); y < int(b.Max.Y*dots+0.5); y++ {
			for x := int(b.Min.X*dots + 0.5); x < int(b.Max.X*dots+0.5); x++ {
				img.SetGray(x, y, color.Gray{})
			}
		}
	}
	bmp, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	r, err := qrcode.NewQRCodeReader().Decode(bmp, nil)
	if err != nil {
		return "", err
	}
	return r.GetText(), nil
}

func TestCodesAreRead(t *testing.T) {
	texts := []string{"a", "https://boat.example/heron-pack.html#at-terminal-DP", "file:///home/skipper/boat/heron-pack.html#at-space-lazarette", "https://boot.example/Möwe-pack.html#at-space-bilge"}
	r := rand.New(rand.NewPCG(1, 2))
	for range 60 {
		var b strings.Builder
		b.WriteString("https://")
		for range 1 + r.IntN(120) {
			b.WriteByte("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._~/#?=&%"[r.IntN(72)])
		}
		texts = append(texts, b.String())
	}
	for _, text := range texts {
		c, err := Encode(text)
		if err != nil {
			t.Fatal(err)
		}
		got, err := scan(t, c.Side(LeastModule), c.Strokes(draw.Point{}, LeastModule))
		if err != nil || got != text {
			t.Errorf("%q was read as %q: %v", text, got, err)
		}
	}
}

// ISO/IEC 18004 (from memory): four modules of nothing on every side, and a
// version v code is 17+4v modules wide.
func TestQuietZoneAndSize(t *testing.T) {
	c, err := Encode("https://boat.example/heron-pack.html#at-terminal-DP")
	if err != nil {
		t.Fatal(err)
	}
	n := c.Modules()
	if (n-8-17)%4 != 0 {
		t.Errorf("%d modules is no version's breadth", n)
	}
	box := draw.NoBox()
	for _, s := range c.Strokes(draw.Point{X: 10, Y: 20}, 0.5) {
		box = box.Union(s.Bounds())
	}
	inner := draw.Box{Min: draw.Point{X: 12, Y: 22}, Max: draw.Point{X: 10 + c.Side(0.5) - 2, Y: 20 + c.Side(0.5) - 2}}
	if box != inner {
		t.Errorf("black lies in %v, want exactly %v", box, inner)
	}
}

func TestTooLong(t *testing.T) {
	if _, err := Encode(strings.Repeat("x", 5000)); err == nil {
		t.Error("5000 letters went into a code")
	}
}
