package analysis

import "firlot/nutrient"

// Proximates are the five constituents of a feed that energy is reckoned
// from, in per cent as fed, and what is left of 100.
type Proximates struct {
	Moisture, Protein, Fat, Fibre, Ash, NFE float64
}

// ProximatesOf reads the constituents of a mix as offered. It reports false
// where one is not known for the whole mix.
func ProximatesOf(portions []Portion) (Proximates, bool) {
	var p Proximates
	for _, q := range []struct {
		key nutrient.Key
		to  *float64
	}{{nutrient.Moisture, &p.Moisture}, {nutrient.CrudeProtein, &p.Protein}, {nutrient.CrudeFat, &p.Fat},
		{nutrient.CrudeFibre, &p.Fibre}, {nutrient.Ash, &p.Ash}} {
		v := Of(portions, Measure{Nutrient: q.key, Basis: nutrient.AsFed, On: "offered"})
		if v.KnownShare < 1 {
			return Proximates{}, false
		}
		*q.to = v.Mean
	}
	p.NFE = 100 - p.Moisture - p.Protein - p.Fat - p.Fibre - p.Ash
	return p, true
}

// EnergyMethod turns proximates into metabolisable energy, kcal/kg as fed.
type EnergyMethod struct {
	Key    string
	Name   string
	Source string
	Of     func(Proximates) float64
}

// EnergyMethods lists the methods; the first is the default, which windows and
// portions use. None was made for rodents: growing rats draw 1.36 MJ a kg of
// dry matter from oat husk meal (measured), where modified Atwater, which
// drops the fibre but credits the rest of the husk, gives several times that.
func EnergyMethods() []EnergyMethod {
	return []EnergyMethod{
		{"modified_atwater", "modified Atwater", "Missouri 2 CSR 70-31.080, after the AAFCO model rule",
			func(p Proximates) float64 {
				return 10 * (float64(3.5*p.Protein) + float64(8.5*p.Fat) + float64(3.5*p.NFE))
			}},
		{"atwater", "Atwater 4/9/4", "customary for laboratory diets, recalled",
			func(p Proximates) float64 { return 10 * (float64(4*p.Protein) + float64(9*p.Fat) + float64(4*p.NFE)) }},
		{"four_step_dog", "NRC 2006 in four steps, dog", "NRC 2006, as printed by WikiVet",
			func(p Proximates) float64 { return fourSteps(p, 91.2, 1.43, 1.04) }},
		{"four_step_cat", "NRC 2006 in four steps, cat", "NRC 2006, as printed by WikiVet",
			func(p Proximates) float64 { return fourSteps(p, 87.9, 0.88, 0.77) }},
	}
}

// fourSteps: gross energy, its digestibility from crude fibre on dry matter,
// digestible energy, and metabolisable energy less what protein loses.
func fourSteps(p Proximates, base, perFibre, perProtein float64) float64 {
	gross := float64(5.7*p.Protein) + float64(9.4*p.Fat) + float64(4.1*(p.NFE+p.Fibre))
	dry := 100 - p.Moisture
	if dry <= 0 {
		return 0
	}
	digestibility := base - float64(perFibre*(p.Fibre*100/dry))
	digestible := gross * digestibility / 100
	return 10 * (digestible - float64(perProtein*p.Protein))
}
