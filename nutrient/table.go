package nutrient

// table lists every figure in print order.
var table = []Info{
	{Key: Moisture, Name: "moisture", Unit: Percent, Group: Proximate, Ceiling: 100, Doc: "water lost on drying"},
	{Key: CrudeProtein, Name: "crude protein", Unit: Percent, Group: Proximate, Ceiling: 100, Doc: "nitrogen × 6.25, the factor of feed labels, whatever factor the source used"},
	{Key: CrudeFat, Name: "crude fat", Unit: Percent, Group: Proximate, Ceiling: 100, Doc: "what ether or a like solvent takes out"},
	{Key: CrudeFibre, Name: "crude fibre", Unit: Percent, Group: Proximate, Ceiling: 100, Doc: "what is left after boiling in dilute acid and dilute alkali, less its ash (Weende); never computed from dietary fibre"},
	{Key: Ash, Name: "ash", Unit: Percent, Group: Proximate, Ceiling: 100, Doc: "what is left after burning"},
	{Key: NFE, Name: "nitrogen-free extract", Unit: Percent, Group: Proximate, Ceiling: 100, Derived: true, Doc: "100 less moisture, crude protein, crude fat, crude fibre and ash"},
	{Key: DietaryFibre, Name: "dietary fibre", Unit: Percent, Group: Proximate, Ceiling: 100, Doc: "total dietary fibre by enzymes, the figure on packets of human food; not crude fibre"},
	{Key: NDF, Name: "neutral detergent fibre", Unit: Percent, Group: Proximate, Ceiling: 100, Doc: "cellulose, hemicellulose and lignin"},
	{Key: Starch, Name: "starch", Unit: Percent, Group: Proximate, Ceiling: 100, Doc: "starch"},
	{Key: Sugars, Name: "sugars", Unit: Percent, Group: Proximate, Ceiling: 100, Doc: "mono- and disaccharides"},
	{Key: Calcium, Name: "calcium", Unit: Percent, Group: Mineral, Ceiling: 45, Doc: "the element"},
	{Key: Phosphorus, Name: "phosphorus", Unit: Percent, Group: Mineral, Ceiling: 25, Doc: "the element, phytate phosphorus included"},
	{Key: Magnesium, Name: "magnesium", Unit: Percent, Group: Mineral, Ceiling: 10, Doc: "the element"},
	{Key: Potassium, Name: "potassium", Unit: Percent, Group: Mineral, Ceiling: 15, Doc: "the element"},
	{Key: Sodium, Name: "sodium", Unit: Percent, Group: Mineral, Ceiling: 40, Doc: "the element"},
	{Key: Chloride, Name: "chloride", Unit: Percent, Group: Mineral, Ceiling: 62, Doc: "the ion"},
	{Key: Iron, Name: "iron", Unit: MgPerKg, Group: Mineral, Ceiling: 5000, Doc: "the element"},
	{Key: Zinc, Name: "zinc", Unit: MgPerKg, Group: Mineral, Ceiling: 1500, Doc: "the element"},
	{Key: Copper, Name: "copper", Unit: MgPerKg, Group: Mineral, Ceiling: 300, Doc: "the element"},
	{Key: Manganese, Name: "manganese", Unit: MgPerKg, Group: Mineral, Ceiling: 2000, Doc: "the element"},
	{Key: Selenium, Name: "selenium", Unit: MgPerKg, Group: Mineral, Ceiling: 40, Doc: "the element; depends on the soil more than on the plant"},
	{Key: Iodine, Name: "iodine", Unit: MgPerKg, Group: Mineral, Ceiling: 8000, Doc: "the element"},
	{Key: VitaminA, Name: "vitamin A", Unit: IUPerKg, Group: Vitamin, Ceiling: 1000000, Doc: "retinol activity, carotenoids counted by the factors of human food tables; rodents convert carotene at other rates"},
	{Key: BetaCarotene, Name: "beta-carotene", Unit: MgPerKg, Group: Vitamin, Ceiling: 1500, Doc: "the carotenoid with the most vitamin A activity"},
	{Key: VitaminD, Name: "vitamin D", Unit: IUPerKg, Group: Vitamin, Ceiling: 1000000, Doc: "cholecalciferol and ergocalciferol"},
	{Key: VitaminE, Name: "vitamin E", Unit: MgPerKg, Group: Vitamin, Ceiling: 2000, Doc: "alpha-tocopherol"},
	{Key: VitaminK, Name: "vitamin K", Unit: MgPerKg, Group: Vitamin, Ceiling: 60, Doc: "phylloquinone"},
	{Key: Thiamin, Name: "thiamin (B1)", Unit: MgPerKg, Group: Vitamin, Ceiling: 250, Doc: "as the table gives it"},
	{Key: Riboflavin, Name: "riboflavin (B2)", Unit: MgPerKg, Group: Vitamin, Ceiling: 250, Doc: "as the table gives it"},
	{Key: Niacin, Name: "niacin", Unit: MgPerKg, Group: Vitamin, Ceiling: 1000, Doc: "preformed; much of it is bound in cereals"},
	{Key: VitaminB6, Name: "vitamin B6", Unit: MgPerKg, Group: Vitamin, Ceiling: 100, Doc: "pyridoxine and its kin"},
	{Key: Pantothenate, Name: "pantothenate", Unit: MgPerKg, Group: Vitamin, Ceiling: 300, Doc: "pantothenic acid"},
	{Key: Folate, Name: "folate", Unit: MgPerKg, Group: Vitamin, Ceiling: 60, Doc: "total folate"},
	{Key: Biotin, Name: "biotin", Unit: MgPerKg, Group: Vitamin, Ceiling: 15, Doc: "biotin"},
	{Key: VitaminB12, Name: "vitamin B12", Unit: MgPerKg, Group: Vitamin, Ceiling: 2, Doc: "cobalamin; plants hold none that counts"},
	{Key: Choline, Name: "choline", Unit: MgPerKg, Group: Vitamin, Ceiling: 15000, Doc: "total choline"},
	{Key: VitaminC, Name: "vitamin C", Unit: MgPerKg, Group: Vitamin, Ceiling: 20000, Doc: "ascorbic acid; the rodents here make their own"},
	{Key: Arginine, Name: "arginine", Unit: Percent, Group: AminoAcid, Ceiling: 15, Doc: "amino acid, total"},
	{Key: Histidine, Name: "histidine", Unit: Percent, Group: AminoAcid, Ceiling: 8, Doc: "amino acid, total"},
	{Key: Isoleucine, Name: "isoleucine", Unit: Percent, Group: AminoAcid, Ceiling: 8, Doc: "amino acid, total"},
	{Key: Leucine, Name: "leucine", Unit: Percent, Group: AminoAcid, Ceiling: 15, Doc: "amino acid, total"},
	{Key: Lysine, Name: "lysine", Unit: Percent, Group: AminoAcid, Ceiling: 10, Doc: "amino acid, total"},
	{Key: Methionine, Name: "methionine", Unit: Percent, Group: AminoAcid, Ceiling: 5, Doc: "amino acid, total"},
	{Key: Cystine, Name: "cystine", Unit: Percent, Group: AminoAcid, Ceiling: 5, Doc: "amino acid, total"},
	{Key: Phenylalanine, Name: "phenylalanine", Unit: Percent, Group: AminoAcid, Ceiling: 8, Doc: "amino acid, total"},
	{Key: Tyrosine, Name: "tyrosine", Unit: Percent, Group: AminoAcid, Ceiling: 8, Doc: "amino acid, total"},
	{Key: Threonine, Name: "threonine", Unit: Percent, Group: AminoAcid, Ceiling: 8, Doc: "amino acid, total"},
	{Key: Tryptophan, Name: "tryptophan", Unit: Percent, Group: AminoAcid, Ceiling: 4, Doc: "amino acid, total"},
	{Key: Valine, Name: "valine", Unit: Percent, Group: AminoAcid, Ceiling: 9, Doc: "amino acid, total"},
	{Key: Linoleic, Name: "linoleic acid (18:2)", Unit: Percent, Group: FattyAcid, Ceiling: 80, Doc: "undifferentiated 18:2, nearly all n-6 in plain seeds"},
	{Key: Linolenic, Name: "linolenic acid (18:3)", Unit: Percent, Group: FattyAcid, Ceiling: 60, Doc: "undifferentiated 18:3, nearly all n-3 in plain seeds"},
	{Key: Oxalate, Name: "oxalate", Unit: Percent, Group: Antinutri, Ceiling: 20, Doc: "total oxalate, which binds calcium"},
	{Key: Phytate, Name: "phytate", Unit: Percent, Group: Antinutri, Ceiling: 8, Doc: "phytic acid, which binds phosphorus, zinc and calcium"},
	{Key: MethionineCystine, Name: "methionine + cystine", Unit: Percent, Group: AminoAcid, Ceiling: 10, Derived: true, Doc: "the sum of the sulphur amino acids"},
	{Key: PhenylalanineTyrosine, Name: "phenylalanine + tyrosine", Unit: Percent, Group: AminoAcid, Ceiling: 16, Derived: true, Doc: "the sum of the two"},
	{Key: Energy, Name: "metabolisable energy", Unit: KcalPerKg, Group: Proximate, Ceiling: 9000, Derived: true, Doc: "modified Atwater: 10 × (3.5 crude protein + 8.5 crude fat + 3.5 nitrogen-free extract); credits husk with more than it gives"},
}

var index = func() map[Key]int {
	m := make(map[Key]int, len(table))
	for i, t := range table {
		m[t.Key] = i
	}
	return m
}()

// All returns every figure in print order. The slice is a copy.
func All() []Info { return append([]Info(nil), table...) }

// Lookup returns what is known of a key.
func Lookup(k Key) (Info, bool) {
	i, ok := index[k]
	if !ok {
		return Info{}, false
	}
	return table[i], true
}

// Order returns the place of a key in print order, or the number of known
// figures for an unknown key, so that unknown keys sort last.
func Order(k Key) int {
	if i, ok := index[k]; ok {
		return i
	}
	return len(table)
}

// Count is the number of figures that Firlot knows. Dense arrays indexed by
// [Order] have this length.
func Count() int { return len(table) }
