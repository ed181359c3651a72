package rules_test

import (
	"testing"

	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/validate/rules"
	"fitout/validate/survey"

	"gopkg.in/yaml.v3"
)

// BenchmarkExample reads and checks each example, beside the bare decode of the
// same bytes.
func BenchmarkExample(b *testing.B) {
	for _, name := range boats {
		text := exampleText(b, name)
		b.Run(name+"/decode", func(b *testing.B) {
			for b.Loop() {
				var v any
				if err := yaml.Unmarshal([]byte(text), &v); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(name+"/read", func(b *testing.B) {
			for b.Loop() {
				if _, p := read.Text("boat.yaml", text, kinds.All()); len(p) > 0 {
					b.Fatal(p)
				}
			}
		})
		b.Run(name+"/check", func(b *testing.B) {
			for b.Loop() {
				boat, p := read.Text("boat.yaml", text, kinds.All())
				if len(p) > 0 {
					b.Fatal(p)
				}
				rules.Check(survey.Of(boat))
			}
		})
	}
}
