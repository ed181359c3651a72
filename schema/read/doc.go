// Package read turns the text of an installation file into a schema.Boat, with
// the place of every value and every mistake of the file in one pass.
//
// The trip: tree.go parses YAML into nodes with exact byte spans; load.go joins
// included files into sections; parts.go declares what is fitted; ends.go says
// which terminal a line means; wires.go, circuits.go and hoses.go expand lines
// into stretches; the other files read one section each. words.go lists every
// key of every section: the JSON Schema and the reference page come from it.
//
// It is the only importer of the YAML library, opens no file itself and never
// panics, whatever the input.
package read
