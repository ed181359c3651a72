package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestManAndCompletion(t *testing.T) {
	dir := t.TempDir()
	if code, _, words := run("man", dir); code != Clean {
		t.Fatal(words)
	}
	page, err := os.ReadFile(filepath.Join(dir, "fitout-check.1"))
	if err != nil || !strings.Contains(string(page), "fail-on") {
		t.Errorf("%v\n%s", err, page)
	}
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		if code, out, words := run("completion", shell); code != Clean || !strings.Contains(out, "fitout") {
			t.Errorf("%s: status %d %s", shell, code, words)
		}
	}
	if _, out, _ := run("__complete", "explain", "fuse-too"); !strings.Contains(out, "fuse-too-far") {
		t.Errorf("rules are not completed: %s", out)
	}
}
