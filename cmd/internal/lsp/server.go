// Package lsp is the language server of installation files: diagnostics as the
// text is typed, hover with computed figures, definitions, completion, and the
// edits that findings offer. JSON-RPC and its framing come from
// sourcegraph/jsonrpc2; the few messages are declared here, because the kept Go
// libraries that declare the whole protocol had no release for years when this
// was written and bring their own loggers and encoders along.
package lsp

import (
	"context"
	"encoding/json"
	"io"
	"sync"
	"time"

	"github.com/sourcegraph/jsonrpc2"

	"fitout/schema/read"
)

// Server speaks with one editor.
type Server struct {
	version string
	disk    read.Opener
	conn    *jsonrpc2.Conn

	mu        sync.Mutex
	docs      map[string]*document // by path
	boats     map[string]*analysis // by path of the main file
	published map[string]bool      // paths whose diagnostics the editor has
	dirty     chan struct{}
	exit      chan struct{}
	leave     sync.Once
}

// document is an open text.
type document struct {
	uri, text string
	version   int
}

// Serve speaks the protocol over a stream until the editor says exit or closes
// it. Files that are not open in the editor are read through disk.
func Serve(ctx context.Context, stream io.ReadWriteCloser, version string, disk read.Opener) error {
	s := &Server{version: version, disk: disk, docs: map[string]*document{}, boats: map[string]*analysis{},
		published: map[string]bool{}, dirty: make(chan struct{}, 1), exit: make(chan struct{})}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ready := make(chan struct{})
	handler := jsonrpc2.HandlerWithError(func(ctx context.Context, c *jsonrpc2.Conn, r *jsonrpc2.Request) (any, error) {
		<-ready
		return s.handle(r)
	}).SuppressErrClosed()
	s.conn = jsonrpc2.NewConn(ctx, jsonrpc2.NewBufferedStream(stream, jsonrpc2.VSCodeObjectCodec{}), handler)
	close(ready)
	go s.work(ctx)
	select {
	case <-s.exit:
	case <-s.conn.DisconnectNotify():
	case <-ctx.Done():
	}
	return s.conn.Close()
}

// pause lets a burst of keys pass before the text is judged.
const pause = 15 * time.Millisecond

// work judges what has changed, the newest text only.
func (s *Server) work(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-s.dirty:
		}
		time.Sleep(pause)
		s.publish(ctx)
	}
}

func (s *Server) touch() {
	select {
	case s.dirty <- struct{}{}:
	default:
	}
}

func params[T any](r *jsonrpc2.Request) (v T, err error) {
	if r.Params == nil {
		return v, &jsonrpc2.Error{Code: jsonrpc2.CodeInvalidParams, Message: "no parameters"}
	}
	if err := json.Unmarshal(*r.Params, &v); err != nil {
		return v, &jsonrpc2.Error{Code: jsonrpc2.CodeInvalidParams, Message: err.Error()}
	}
	return v, nil
}

func (s *Server) handle(r *jsonrpc2.Request) (any, error) {
	switch r.Method {
	case "initialize":
		return capabilities(s.version), nil
	case "initialized", "textDocument/didSave", "workspace/didChangeConfiguration", "workspace/didChangeWatchedFiles":
		s.touch()
		return nil, nil
	case "$/cancelRequest", "$/setTrace":
		return nil, nil
	case "shutdown":
		return nil, nil
	case "exit":
		s.leave.Do(func() { close(s.exit) })
		return nil, nil
	case "textDocument/didOpen", "textDocument/didChange", "textDocument/didClose":
		return nil, s.document(r)
	case "textDocument/hover", "textDocument/definition", "textDocument/completion":
		p, err := params[positionParams](r)
		if err != nil {
			return nil, err
		}
		return s.at(r.Method, p), nil
	case "textDocument/codeAction":
		p, err := params[actionParams](r)
		if err != nil {
			return nil, err
		}
		return s.actions(p), nil
	}
	return nil, &jsonrpc2.Error{Code: jsonrpc2.CodeMethodNotFound, Message: "not known: " + r.Method}
}

// document takes a text that was opened, changed or closed.
func (s *Server) document(r *jsonrpc2.Request) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	defer s.touch()
	switch r.Method {
	case "textDocument/didOpen":
		p, err := params[struct {
			TextDocument textDocument `json:"textDocument"`
		}](r)
		if err != nil {
			return err
		}
		s.docs[pathOf(p.TextDocument.URI)] = &document{p.TextDocument.URI, p.TextDocument.Text, p.TextDocument.Version}
	case "textDocument/didChange":
		p, err := params[changeParams](r)
		if err != nil {
			return err
		}
		d := s.docs[pathOf(p.TextDocument.URI)]
		if d == nil {
			return nil
		}
		for _, c := range p.ContentChanges {
			d.text = changed(d.text, c.Range, c.Text)
		}
		d.version = p.TextDocument.Version
	case "textDocument/didClose":
		p, err := params[positionParams](r)
		if err != nil {
			return err
		}
		delete(s.docs, pathOf(p.TextDocument.URI))
	}
	return nil
}

// changed replaces a range of a text, or all of it.
func changed(text string, at *textRange, with string) string {
	if at == nil {
		return with
	}
	from, to := offsetOf(text, at.Start), offsetOf(text, at.End)
	if to < from {
		from, to = to, from
	}
	return text[:from] + with + text[to:]
}
