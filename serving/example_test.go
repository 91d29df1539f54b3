package serving_test

import (
	"fmt"

	"firlot/analysis"
	catfiles "firlot/catalog/files"
	"firlot/nutrient"
	"firlot/serving"
)

func lot() serving.Lot {
	c, err := catfiles.Builtin()
	if err != nil {
		panic(err)
	}
	of := func(ref string, grams int) analysis.Portion {
		return analysis.Portion{Form: c.Form(ref), Mass: nutrient.Mass(grams) * nutrient.Gram}
	}
	return serving.LotOf([]analysis.Portion{of("proso-millet/in-hull", 1200), of("oats/groats", 700), of("linseed/whole", 100)}, 2000)
}

// Linseed counted in eight scoops of 50 g from a batch of 2 kg.
func ExampleSampling_Check() {
	s := serving.Sampling{Lot: lot(), Marker: 2, Allowed: serving.UsualAllowed}
	for _, n := range []float64{352, 331, 349, 322, 361, 340, 337, 355} {
		s.Scoops = append(s.Scoops, serving.Scoop{Grams: 50, Marker: n})
	}
	m, err := s.Check()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, %.1f of 100 sure; seen %.1f %%, chance alone %.1f %%\n", m.Verdict, 100*m.Confidence, 100*m.Shown, 100*m.Floor)
	// Output: well-mixed, 99.7 of 100 sure; seen 3.8 %, chance alone 5.4 %
}

// What a spoonful of 10 g holds, by the number 1.
func ExampleLot_Draw() {
	for _, d := range lot().Draw(10, 1) {
		fmt.Println(d.Count, d.Form.Name("en"))
	}
	// Output:
	// 1066 proso millet in hull
	// 139 oat groats
	// 54 whole linseed
}
