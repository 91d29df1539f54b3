package raster

import "math"

// outline is what a stroke covers: a box for each line and a disc at each
// joint, all turning the same way, so that where they overlap they add up to
// covered.
func outline(tracks []track, s style, grow float64) [][]point {
	half := s.width / 2
	sides := int(min(max(6*math.Sqrt(half*grow), 6), 32))
	var out [][]point
	for _, t := range dashed(tracks, s.dash) {
		at := t.at
		if t.closed {
			at = append(at[:len(at):len(at)], at[0])
		}
		if len(at) < 2 {
			continue
		}
		for i := 1; i < len(at); i++ {
			if b := box(at[i-1], at[i], half); b != nil {
				out = append(out, b)
			}
			if i+1 < len(at) || t.closed || s.cap {
				out = append(out, disc(at[i], half, sides))
			}
		}
		if s.cap && !t.closed {
			out = append(out, disc(at[0], half, sides))
		}
	}
	return out
}

func box(p, q point, half float64) []point {
	d := q.minus(p)
	l := math.Hypot(d.x, d.y)
	if l == 0 {
		return nil
	}
	n := point{-d.y / l * half, d.x / l * half}
	return []point{p.minus(n), q.minus(n), q.plus(n), p.plus(n)}
}

func disc(c point, r float64, sides int) []point {
	out := make([]point, sides)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(sides))
		out[i] = point{c.x + float64(r*cos), c.y + float64(r*sin)}
	}
	return out
}

// dashed cuts tracks into dashes.
func dashed(tracks []track, dash []float64) []track {
	total := 0.0
	for _, d := range dash {
		total += d
	}
	if total <= 0 {
		return tracks
	}
	if len(dash)%2 == 1 {
		dash = append(dash[:len(dash):len(dash)], dash...)
	}
	var out []track
	for _, t := range tracks {
		at := t.at
		if t.closed {
			at = append(at[:len(at):len(at)], at[0])
		}
		out = append(out, cut(at, dash)...)
	}
	return out
}

// mostDashes bounds the dashes of one track.
const mostDashes = 10_000

func cut(at []point, dash []float64) []track {
	var out []track
	k, left, on := 0, dash[0], true
	now := []point{at[0]}
	for i := 1; i < len(at) && len(out) < mostDashes; i++ {
		p, q := at[i-1], at[i]
		l := math.Hypot(q.x-p.x, q.y-p.y)
		for done := 0.0; done < l && len(out) < mostDashes; {
			step := min(left, l-done)
			done += step
			left -= step
			here := between(p, q, done/l)
			now = append(now, here)
			if left > 0 {
				continue
			}
			if on && len(now) > 1 {
				out = append(out, track{at: now})
			}
			k = (k + 1) % len(dash)
			left, on, now = max(dash[k], 1e-3), !on, []point{here}
		}
	}
	if on && len(now) > 1 {
		out = append(out, track{at: now})
	}
	return out
}
