package nutrient

// Key names a figure in documents, tables and answers. Keys are stable: once
// published, a key keeps its meaning.
type Key string

// The figures that Firlot knows. The order of this list is the order in which
// figures are printed.
const (
	Moisture     Key = "moisture"
	CrudeProtein Key = "crude_protein"
	CrudeFat     Key = "crude_fat"
	CrudeFibre   Key = "crude_fibre"
	Ash          Key = "ash"
	NFE          Key = "nitrogen_free_extract"
	DietaryFibre Key = "dietary_fibre"
	NDF          Key = "ndf"
	Starch       Key = "starch"
	Sugars       Key = "sugars"

	Calcium    Key = "calcium"
	Phosphorus Key = "phosphorus"
	Magnesium  Key = "magnesium"
	Potassium  Key = "potassium"
	Sodium     Key = "sodium"
	Chloride   Key = "chloride"
	Iron       Key = "iron"
	Zinc       Key = "zinc"
	Copper     Key = "copper"
	Manganese  Key = "manganese"
	Selenium   Key = "selenium"
	Iodine     Key = "iodine"

	VitaminA     Key = "vitamin_a"
	BetaCarotene Key = "beta_carotene"
	VitaminD     Key = "vitamin_d"
	VitaminE     Key = "vitamin_e"
	VitaminK     Key = "vitamin_k"
	Thiamin      Key = "thiamin"
	Riboflavin   Key = "riboflavin"
	Niacin       Key = "niacin"
	VitaminB6    Key = "vitamin_b6"
	Pantothenate Key = "pantothenate"
	Folate       Key = "folate"
	Biotin       Key = "biotin"
	VitaminB12   Key = "vitamin_b12"
	Choline      Key = "choline"
	VitaminC     Key = "vitamin_c"

	Arginine      Key = "arginine"
	Histidine     Key = "histidine"
	Isoleucine    Key = "isoleucine"
	Leucine       Key = "leucine"
	Lysine        Key = "lysine"
	Methionine    Key = "methionine"
	Cystine       Key = "cystine"
	Phenylalanine Key = "phenylalanine"
	Tyrosine      Key = "tyrosine"
	Threonine     Key = "threonine"
	Tryptophan    Key = "tryptophan"
	Valine        Key = "valine"

	Linoleic  Key = "linoleic_acid"
	Linolenic Key = "linolenic_acid"

	Oxalate Key = "oxalate"
	Phytate Key = "phytate"

	MethionineCystine     Key = "methionine_cystine"
	PhenylalanineTyrosine Key = "phenylalanine_tyrosine"
	Energy                Key = "energy"
)

// Unit is the unit in which a figure is kept and shown. All units are
// amounts in a mass of feed, so a mix's figure is the mean of its
// ingredients' figures weighted by mass.
type Unit string

// The units in use.
const (
	Percent   Unit = "%"       // grams in 100 g
	MgPerKg   Unit = "mg/kg"   // milligrams in a kilogram
	IUPerKg   Unit = "IU/kg"   // international units in a kilogram
	KcalPerKg Unit = "kcal/kg" // kilocalories of metabolisable energy in a kilogram
	PlainRate Unit = ""        // one figure divided by another
)

// ProteinFactor turns nitrogen into crude protein. Feed labels use the one
// factor for every feed; human food tables use lower ones for many seeds.
const ProteinFactor = 6.25

// International units, as micrograms of one unit.
// Source: USDA dietary supplement database, unit conversions.
const (
	MicrogramsPerIUVitaminA = 0.3   // retinol
	MicrogramsPerIUVitaminD = 0.025 // cholecalciferol
)

// Group is a family of figures.
type Group string

// The groups, in the order in which they are printed.
const (
	Proximate Group = "proximates"
	Mineral   Group = "minerals"
	Vitamin   Group = "vitamins"
	AminoAcid Group = "amino acids"
	FattyAcid Group = "fatty acids"
	Antinutri Group = "binders"
)

// Info describes one figure.
type Info struct {
	Key   Key
	Name  string // plain English name
	Unit  Unit
	Group Group
	// Ceiling is a figure that no food exceeds, as fed, in Unit. It bounds
	// what a missing figure could be; a test holds every catalogue figure
	// below it.
	Ceiling float64
	// Derived figures are computed from others and never typed in.
	Derived bool
	Doc     string // what it is, and how it is measured
}
