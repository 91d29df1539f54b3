package making

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
)

// maxJSON is the most that a start or a plan may be as JSON: the document,
// each character of which may be written as six, and the lines.
const maxJSON = 8 << 20

// JSON writes a start as it is kept. The start must be one that Check passes.
func (s *Start) JSON() ([]byte, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	return json.Marshal(s)
}

// DecodeStart reads a start. A field that is not known, a version that is not
// this program's, and whatever lies outside the bounds of this package is an
// error.
func DecodeStart(data []byte) (*Start, error) {
	var s Start
	if err := strict(data, &s); err != nil {
		return nil, err
	}
	if err := s.Check(); err != nil {
		return nil, err
	}
	return &s, nil
}

// JSON writes a plan as it is kept. The plan must be one that Check passes.
func (p *Plan) JSON() ([]byte, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	return json.Marshal(p)
}

// DecodePlan reads a plan as strictly as [DecodeStart] reads a start.
func DecodePlan(data []byte) (*Plan, error) {
	var p Plan
	if err := strict(data, &p); err != nil {
		return nil, err
	}
	if err := p.Check(); err != nil {
		return nil, err
	}
	return &p, nil
}

func strict(data []byte, into any) error {
	if len(data) > maxJSON {
		return fault("", "is larger than 8 MB")
	}
	var head struct {
		Version *int `json:"version"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return fault("", "is not JSON of a making: %v", err)
	}
	switch {
	case head.Version == nil:
		return fault("version", "is missing")
	case *head.Version != Version:
		return fault("version", "is %d; this program knows version %d", *head.Version, Version)
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return fault("", "%v", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return fault("", "something stands after the end")
	}
	return nil
}
