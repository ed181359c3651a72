package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"fitout/schema/jsonschema"
	"fitout/schema/kinds"
	"fitout/schema/reference"
)

func schemaCommand(s Streams) *cobra.Command {
	var page bool
	c := &cobra.Command{
		Use:     "schema",
		Short:   "JSON Schema (2020-12) of the installation file, for editors",
		Example: "  fitout schema > fitout.schema.json\n  fitout schema --kinds > kinds.md",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if page {
				_, err := fmt.Fprint(s.Out, reference.Page(kinds.All()))
				return err
			}
			doc, err := jsonschema.Document(kinds.All())
			if err != nil {
				return err
			}
			_, err = s.Out.Write(append(doc, '\n'))
			return err
		},
	}
	c.Flags().BoolVar(&page, "kinds", false, "the reference page of kinds, as Markdown, instead")
	return c
}
