package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// TestPicturesAreTrue: the pictures the README shows are what draw makes today.
// Refresh one with: fitout draw examples/dayboat.yaml --sheet dc --clean -o examples/pictures
func TestPicturesAreTrue(t *testing.T) {
	for _, p := range []struct{ example, sheet, file string }{
		{"dayboat", "dc", "dayboat-dc-1.svg"},
		{"cruiser", "water", "cruiser-water.svg"},
	} {
		dir := t.TempDir()
		if code, _, errs := fitout(t, "", "draw", "../../../examples/"+p.example+".yaml", "--sheet", p.sheet, "--clean", "-o", dir); code != Clean {
			t.Fatal(errs)
		}
		got, err := os.ReadFile(filepath.Join(dir, p.file))
		if err != nil {
			t.Fatal(err)
		}
		want, err := os.ReadFile(filepath.Join("../../../examples/pictures", p.file))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("examples/pictures/%s is not what draw makes today; draw it again and look at it", p.file)
		}
	}
}
