package web

import (
	"slices"
	"testing"
	"time"
)

// wrongJar opens the form of a wrong jar and sends a name with its grams.
func (b *tab) wrongJar(name, grams string) {
	b.t.Helper()
	b.until(ready)
	b.until(`Date.now() - (window.lastPour || 0) > 750`)
	b.click("#wrong summary")
	js[bool](b, `(document.getElementById("food3").value = `+quoted(name)+`, document.getElementById("mass3").value = `+quoted(grams)+`, true)`)
	b.click("#wrong button")
	js[bool](b, `(window.lastPour = Date.now(), true)`)
}

// A name typed while the laptop is away is kept on the phone. Once it is back,
// a clear one is counted, one that may be several things is asked about on the
// page, and none is counted twice.
func TestANameIsKeptWhileTheLaptopIsAway(t *testing.T) {
	a := start(t, true)
	b := browser(t, 360)
	at := a.begin("adult gerbils")
	b.goTo(a.base + at)
	b.until(ready)
	b.until(`document.getElementById("net2").textContent === "all saved"`)
	b.connected(false)
	b.wrongJar("avocado", "5")
	b.until(left + ` === 1`)
	if got := js[string](b, `document.getElementById("food3").value + document.getElementById("mass3").value`); got != "" {
		t.Errorf("the form still holds %q: pressed again it would count twice", got)
	}
	if got := js[string](b, `document.getElementById("backsays").textContent`); got != "avocado 5\u00a0g" {
		t.Errorf("what can be taken back is %q", got)
	}
	b.wrongJar("soybeans", "3")
	b.until(left + ` === 2`)
	time.Sleep(300 * time.Millisecond)
	if got := a.poured(at); len(got) != 0 {
		t.Fatalf("away, and yet: %v", got)
	}
	b.connected(true)
	b.until(`!document.getElementById("trouble").hidden`)
	if got := a.poured(at); !slices.Equal(got, []string{"avocado/never 5000"}) {
		t.Fatalf("the laptop has %v", got)
	}
	b.until(`document.getElementById("trouble").getBoundingClientRect().top >= 0`)
	said := js[string](b, `document.getElementById("trouble").textContent`)
	if want := "3 g soybeans: “soybeans” may be several foods soybeans (never fed)"; len(said) < len(want) || said[:len(want)] != want {
		t.Errorf("the page says %q", said)
	}
	js[bool](b, `([...document.querySelectorAll("#trouble button")].find((x) => x.textContent === "soybeans (never fed)").click(), true)`)
	b.until(allSaved)
	b.until(`document.querySelector(".slip")?.textContent.includes("avocado and soybeans in it are never fed")`)
	if got := a.poured(at); !slices.Equal(got, []string{"avocado/never 5000", "unnamed-soya/never 3000"}) {
		t.Errorf("the laptop has %v", got)
	}
}

// A name that nobody knows is typed anew on the page, with its grams kept; or
// it is forgotten.
func TestAnUnknownNameIsTypedAnew(t *testing.T) {
	a := start(t, true)
	b := browser(t, 360)
	at := a.begin("adult gerbils")
	b.goTo(a.base + at)
	b.until(ready)
	b.wrongJar("gravel", "7")
	b.until(`!document.getElementById("trouble").hidden`)
	b.wrongJar("grit", "2")
	b.until(`document.querySelectorAll("#trouble p").length === 2`)
	js[bool](b, `(document.querySelector("#trouble input").value = "rye/whole", document.querySelector("#trouble input").nextElementSibling.click(), true)`)
	b.until(`document.querySelectorAll("#trouble p").length === 1`)
	js[bool](b, `(document.querySelector("#trouble button:last-of-type").click(), true)`)
	b.until(allSaved)
	if got := a.poured(at); !slices.Equal(got, []string{"rye/whole 7000"}) {
		t.Errorf("the laptop has %v", got)
	}
}
