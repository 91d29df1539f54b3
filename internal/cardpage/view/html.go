package view

import (
	"fmt"
	"strings"
)

// html is markup that is safe to show. It is made by el, which escapes every
// text and every attribute, and of pictures by package chart, which does too.
type html string

// at are attributes: name and value in turn. An attribute whose value is
// missing is a bare one; one whose value is nil is left out.
type at []any

// bare marks an attribute without a value, such as hidden.
type bare bool

var escapes = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;", "\x00", "\uFFFD")

// esc escapes a text for content and for attribute values.
func esc(s string) string {
	plain := true
	for i := 0; i < len(s) && plain; i++ {
		c := s[i]
		plain = c != 0 && c < 0x80 && c != '&' && c != '<' && c != '>' && c != '"' && c != '\''
	}
	if plain {
		return s
	}
	return escapes.Replace(strings.ToValidUTF8(s, "\uFFFD"))
}

// void are the elements that have no content.
var void = map[string]bool{"input": true, "br": true, "hr": true, "wbr": true}

// el is an element. A string among its content is text and is escaped; html
// stands as it is; of a list each part is taken in turn.
func el(name string, attributes at, content ...any) html {
	var b strings.Builder
	b.WriteByte('<')
	b.WriteString(name)
	for i := 0; i+1 < len(attributes); i += 2 {
		attribute(&b, attributes[i].(string), attributes[i+1])
	}
	b.WriteByte('>')
	if void[name] {
		return html(b.String())
	}
	for _, c := range content {
		put(&b, c)
	}
	b.WriteString("</")
	b.WriteString(name)
	b.WriteByte('>')
	return html(b.String())
}

func attribute(b *strings.Builder, name string, value any) {
	text := ""
	switch v := value.(type) {
	case nil:
		return
	case bare:
		if v {
			b.WriteString(" " + name)
		}
		return
	case string:
		text = v
	default:
		text = fmt.Sprint(value)
	}
	b.WriteByte(' ')
	b.WriteString(name)
	b.WriteString(`="`)
	b.WriteString(esc(text))
	b.WriteByte('"')
}

func put(b *strings.Builder, c any) {
	switch c := c.(type) {
	case nil:
	case string:
		b.WriteString(esc(c))
	case html:
		b.WriteString(string(c))
	case []html:
		for _, x := range c {
			b.WriteString(string(x))
		}
	default:
		b.WriteString(esc(fmt.Sprint(c)))
	}
}

// join puts parts side by side.
func join(parts ...any) html {
	var b strings.Builder
	for _, p := range parts {
		put(&b, p)
	}
	return html(b.String())
}

// when is a part that is shown only sometimes.
func when(yes bool, part func() html) html {
	if !yes {
		return ""
	}
	return part()
}

// given is a value for an attribute that is left out when it is empty.
func given(s string) any {
	if s == "" {
		return nil
	}
	return s
}

// web is an address that a page may link to, or "": a stranger's card names it.
func web(url string) string {
	if len(url) <= 2000 && (strings.HasPrefix(url, "https://") || strings.HasPrefix(url, "http://")) && !strings.ContainsAny(url, " \t\n\r<>\"'`") {
		return url
	}
	return ""
}
