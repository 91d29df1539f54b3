package raster

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
)

// node is an element of a picture.
type node struct {
	name string
	attr map[string]string
	text string
	in   []*node
}

// Bounds on a picture: it may be made of a stranger's card.
const (
	maxNodes = 100_000
	maxDepth = 32
	maxSide  = 8192 // px
)

var errTooLarge = errors.New("the picture is too large to paint")

// parse reads a picture.
func parse(svg string) (*node, error) {
	d := xml.NewDecoder(strings.NewReader(svg))
	root := &node{name: "#"}
	open := []*node{root}
	count := 0
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("the picture cannot be read: %w", err)
		}
		top := open[len(open)-1]
		switch tok := tok.(type) {
		case xml.StartElement:
			if count++; count > maxNodes || len(open) > maxDepth {
				return nil, errTooLarge
			}
			n := &node{name: tok.Name.Local, attr: map[string]string{}}
			for _, a := range tok.Attr {
				n.attr[a.Name.Local] = a.Value
			}
			top.in = append(top.in, n)
			open = append(open, n)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			top.text += string(tok)
		}
	}
	if len(root.in) != 1 || root.in[0].name != "svg" {
		return nil, errors.New("the picture is no svg")
	}
	return root.in[0], nil
}

// byID finds every element that has an id.
func (n *node) byID(ids map[string]*node) {
	if id := n.attr["id"]; id != "" {
		ids[id] = n
	}
	for _, c := range n.in {
		c.byID(ids)
	}
}
