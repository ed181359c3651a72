package lsp

// The messages of the Language Server Protocol 3.17 that this server speaks, as
// far as it fills or reads them.

type position struct {
	Line      int `json:"line"`
	Character int `json:"character"` // UTF-16 code units
}

type textRange struct {
	Start position `json:"start"`
	End   position `json:"end"`
}

type location struct {
	URI   string    `json:"uri"`
	Range textRange `json:"range"`
}

type documentID struct {
	URI     string `json:"uri"`
	Version int    `json:"version"`
}

type textDocument struct {
	URI     string `json:"uri"`
	Version int    `json:"version"`
	Text    string `json:"text"`
}

type positionParams struct {
	TextDocument documentID `json:"textDocument"`
	Position     position   `json:"position"`
}

type changeParams struct {
	TextDocument   documentID `json:"textDocument"`
	ContentChanges []struct {
		Range *textRange `json:"range"`
		Text  string     `json:"text"`
	} `json:"contentChanges"`
}

type actionParams struct {
	TextDocument documentID `json:"textDocument"`
	Range        textRange  `json:"range"`
}

type diagnostic struct {
	Range    textRange `json:"range"`
	Severity int       `json:"severity"`
	Code     string    `json:"code,omitempty"`
	Source   string    `json:"source"`
	Message  string    `json:"message"`
	Related  []related `json:"relatedInformation,omitempty"`
}

// Severities of a diagnostic.
const (
	severityError = iota + 1
	severityWarning
	severityInformation
	severityHint
)

type related struct {
	Location location `json:"location"`
	Message  string   `json:"message"`
}

type publishParams struct {
	URI         string       `json:"uri"`
	Version     *int         `json:"version,omitempty"`
	Diagnostics []diagnostic `json:"diagnostics"`
}

type markup struct {
	Kind  string `json:"kind"`
	Value string `json:"value"`
}

type hover struct {
	Contents markup    `json:"contents"`
	Range    textRange `json:"range"`
}

type completionItem struct {
	Label         string    `json:"label"`
	Kind          int       `json:"kind"`
	Detail        string    `json:"detail,omitempty"`
	Documentation string    `json:"documentation,omitempty"`
	TextEdit      *textEdit `json:"textEdit,omitempty"`
}

// Kinds of a completion.
const (
	itemField = 5
	itemClass = 7
	itemValue = 12
	itemEnum  = 13
	itemRef   = 18
)

type textEdit struct {
	Range   textRange `json:"range"`
	NewText string    `json:"newText"`
}

type workspaceEdit struct {
	Changes map[string][]textEdit `json:"changes"`
}

type codeAction struct {
	Title       string        `json:"title"`
	Kind        string        `json:"kind"`
	Diagnostics []diagnostic  `json:"diagnostics"`
	Preferred   bool          `json:"isPreferred"`
	Edit        workspaceEdit `json:"edit"`
}

// capabilities answers initialize.
func capabilities(version string) any {
	return map[string]any{
		"capabilities": map[string]any{
			"positionEncoding":   "utf-16",
			"textDocumentSync":   map[string]any{"openClose": true, "change": 2, "save": true},
			"hoverProvider":      true,
			"definitionProvider": true,
			"completionProvider": map[string]any{"triggerCharacters": []string{".", ":", " ", "[", "{", ","}},
			"codeActionProvider": map[string]any{"codeActionKinds": []string{"quickfix"}},
		},
		"serverInfo": map[string]any{"name": "fitout", "version": version},
	}
}
