package web

import (
	"testing"
)

// fakeScales plays the browser's side of a USB and a serial scale: what
// requestDevice and requestPort give, and the frames that come through.
const fakeScales = `(async () => {
  const m = await import("/static/scale-talk.js");
  const place = document.getElementById("scale");
  class Device extends EventTarget {
    opened = false;
    collections = [{ usagePage: 0x8d, usage: 0x20 }];
    async open() { this.opened = true; }
  }
  window.device = new Device();
  window.report = (...b) => window.device.dispatchEvent(Object.assign(new Event("inputreport"), { reportId: b[0], data: new DataView(Uint8Array.from([0, 0, ...b.slice(1)]).buffer, 2) }));
  const cable = new TransformStream();
  const out = cable.writable.getWriter();
  window.line = (text) => { out.write(new TextEncoder().encode(text)); };
  window.asked = "";
  window.pulled = () => out.close();
  const writable = new WritableStream({ write(b) { window.asked += new TextDecoder().decode(b); } });
  window.port = { async open(o) { this.options = o; }, readable: cable.readable, writable };
  const navigator = {
    hid: { getDevices: async () => [], requestDevice: async (o) => { window.filters = o.filters; return [window.device]; } },
    serial: { requestPort: async () => window.port },
  };
  m.mount(place, { navigator });
  return true;
})()`

const (
	scaleShows = `document.getElementById("scaleshows").textContent.replace(/\s/g, " ")`
	mayTake    = `!document.getElementById("scaletakes").disabled`
)

func TestAUSBScaleAndASerialScale(t *testing.T) {
	a := start(t, true)
	path := a.begin("adult gerbils")
	b := freshBrowser(t)
	b.goTo(a.base + path)
	b.until(ready)
	later[bool](b, fakeScales)

	press := func(words string) {
		t.Helper()
		js[bool](b, `([...document.querySelectorAll("#scale button")].find((b) => b.textContent === `+quoted(words)+`).click(), true)`)
	}
	shows := func(want string, take bool) {
		t.Helper()
		b.until(scaleShows + ` === ` + quoted(want))
		if got := js[bool](b, mayTake); got != take {
			t.Errorf("%q: it may be taken: %v", want, got)
		}
	}
	press("USB scale")
	b.until(`window.device.opened`)
	if !js[bool](b, `window.filters.length === 1 && window.filters[0].usagePage === 0x8d`) {
		t.Error("it asks for other devices too")
	}
	for _, x := range []struct {
		frame, shows string
		take         bool
	}{
		{"3, 3, 2, 0xff, 0xea, 0", "23.4 g, moving", false},
		{"3, 4, 2, 0xff, 0xea, 0", "23.4 g, still", true},
		{"3, 2, 2, 0, 0, 0", "0 g, at zero", false},
		{"3, 6, 2, 0, 0, 0", "More than the scale takes.", false},
		{"3, 4, 4, 0, 5, 0", "The scale shows another unit. Set it to grams.", false},
		{"3, 0, 0, 0, 0, 0", "What the scale says cannot be read.", false},
		{"0, 4, 2, 0, 7, 0", "7 g, still", true}, // a device without report numbers
	} {
		js[bool](b, `(window.report(`+x.frame+`), true)`)
		shows(x.shows, x.take)
	}
	b.until(scaleShows + ` === "The scale says nothing."`) // nothing came for a while
	if js[bool](b, mayTake) {
		t.Error("what is long past may be taken")
	}

	js[bool](b, `(document.getElementById("scalerate").value = "2400", document.getElementById("scaleasks").checked = true, true)`)
	press("serial scale")
	b.until(`window.asked === "SIR\r\n"`)
	if !js[bool](b, `window.port.options.baudRate === 2400`) {
		t.Error("the rate is not the one chosen")
	}
	js[bool](b, `(window.line("S D     12"), window.line("9.07 g\r\nS S     130."), true)`)
	shows("129.07 g, moving", false)
	js[bool](b, `(window.line("00 g\r\n"), true)`)
	shows("130 g, still", true)
	b.click("#scaletakes")
	if !js[bool](b, `document.getElementById("mass1").value === "130" && document.getElementById("different").open`) {
		t.Error("its weight was not taken over")
	}
	js[bool](b, `(window.pulled(), true)`)
	b.until(scaleShows + ` === "The scale says nothing."`)
	if got := a.poured(path); len(got) != 0 {
		t.Errorf("it poured by itself: %v", got)
	}
}
