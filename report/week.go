package report

// Week is the whole diet of a group on one day.
type Week struct {
	Title      string         `json:"title"`
	Day        string         `json:"day"`
	Animals    []WeekAnimal   `json:"animals"`
	NeedKcal   Range          `json:"need_kcal_a_day"`
	Foods      []WeekFood     `json:"foods"`
	Shelf      []string       `json:"shelf"`
	Practice   *WeekPractice  `json:"common_practice,omitempty"`
	OwnSpoon   *WeekSpoon     `json:"own_spoon,omitempty"`
	Days       []WeekDay      `json:"days"`
	Accounts   []WeekAccount  `json:"accounts"`
	Shortages  []WeekShortage `json:"shortages"`
	Mends      []WeekMend     `json:"mends,omitempty"`
	Bowls      []WeekBowl     `json:"bowls"`
	Advice     []WeekAdvice   `json:"advice"`
	Changeover *WeekTurn      `json:"changeover,omitempty"`
	Away       []WeekAway     `json:"away,omitempty"`
	Shopping   *WeekShopping  `json:"shopping,omitempty"`
	Notes      []WeekNote     `json:"notes"`
}

// WeekSpoon is the keeper's own spoon, level; null is not known.
type WeekSpoon struct {
	Name string  `json:"name,omitempty"`
	MixG *Number `json:"mix_g"`
	ML   *Number `json:"ml"`
}

// WeekAnimal is one animal.
type WeekAnimal struct {
	Name     string     `json:"name"`
	Species  string     `json:"species"`
	Stage    string     `json:"stage"`
	StageBy  string     `json:"stage_by"`
	AgeDays  *int       `json:"age_days"`
	Breeding string     `json:"breeding,omitempty"`
	WeightG  Number     `json:"weight_g"`
	Weighed  string     `json:"weighed"`
	NeedKcal Range      `json:"need_kcal_a_day"`
	Times    Number     `json:"times_upkeep"`
	Share    Number     `json:"share_of_group"`
	MixG     Range      `json:"mix_g_a_day"`
	Next     *WeekStage `json:"next_stage,omitempty"`
	Trend    WeekTrend  `json:"trend"`
}

// WeekStage is a change of life stage to come.
type WeekStage struct {
	Day     string       `json:"day"`
	Stage   string       `json:"stage"`
	Windows []WeekChange `json:"windows"`
}

// WeekChange is a window that a mix must meet and that changes; null where
// there is no such side.
type WeekChange struct {
	Nutrient string  `json:"nutrient"`
	WasMin   *Number `json:"was_min"`
	WasMax   *Number `json:"was_max"`
	IsMin    *Number `json:"is_min"`
	IsMax    *Number `json:"is_max"`
}

// WeekTrend is how a weight runs.
type WeekTrend struct {
	Runs      string  `json:"runs"`
	Weighings int     `json:"weighings"`
	GramsWeek *Number `json:"g_a_week"`
	Low       *Number `json:"low"`
	High      *Number `json:"high"`
	LostMonth Number  `json:"lost_of_month_share"`
	LostWeek  Number  `json:"lost_of_week_share"`
	Fast      bool    `json:"see_veterinarian"`
}

// WeekFood is one food of the week.
type WeekFood struct {
	Food   string   `json:"food"`
	Name   string   `json:"name"`
	Origin string   `json:"origin"`
	Days   []string `json:"days,omitempty"`
	Every  int      `json:"every_days,omitempty"`
	From   string   `json:"from,omitempty"`
	Until  string   `json:"until,omitempty"`
	AtWill bool     `json:"at_will,omitempty"`
	ByNeed bool     `json:"by_need,omitempty"`
	Rests  bool     `json:"rests,omitempty"` // on no day of the next seven, and not in the accounts
	DoseG  Range    `json:"dose_g"`
	DayG   Range    `json:"g_a_day"`
	Loose  bool     `json:"only_bounded,omitempty"`
	Why    string   `json:"why,omitempty"`
}

// WeekPractice is what keepers commonly give, without a source.
type WeekPractice struct {
	Tablespoons Number `json:"us_tablespoons_an_animal_every_second_day"`
	GramsDay    Range  `json:"g_an_animal_and_day"`
	Given       Range  `json:"given_g_an_animal_and_day"`
	Source      string `json:"source"`
}

// WeekDay is what one day brings.
type WeekDay struct {
	Day     string      `json:"day"`
	MixFree bool        `json:"mix_free"`
	Entries []WeekEntry `json:"entries"`
}

// WeekEntry is one food on a day; an amount of nothing is food at will.
type WeekEntry struct {
	Food     string   `json:"food"`
	Name     string   `json:"name"`
	Amount   *Number  `json:"amount"`
	Each     *Number  `json:"each_feeding"`
	Unit     string   `json:"unit,omitempty"`
	Feedings int      `json:"feedings"`
	At       []string `json:"at,omitempty"`
	Way      string   `json:"way,omitempty"`
}

// WeekAccount is the diet beside the needs of one kind of animal.
type WeekAccount struct {
	Species string      `json:"species"`
	Stage   string      `json:"stage"`
	Animals []string    `json:"animals"`
	Rows    []WeekRow   `json:"rows"`
	Limits  []WeekLimit `json:"limits"`
}

// WeekRow is one figure; amounts are for one animal and day in its unit.
type WeekRow struct {
	Nutrient string     `json:"nutrient"`
	Per      string     `json:"per,omitempty"`
	Unit     string     `json:"unit"`
	By       string     `json:"need_goes_with"`
	Least    *Number    `json:"least"`
	Most     *Number    `json:"most"`
	Got      Range      `json:"got"`
	Known    Number     `json:"known_share"`
	Parts    []WeekPart `json:"parts"`
	Verdict  string     `json:"verdict"`
	Open     string     `json:"not_known_because,omitempty"`
	Evidence string     `json:"evidence"`
	Source   string     `json:"source"`
	StandsIn string     `json:"stands_in,omitempty"`
}

// WeekPart is what one origin brings.
type WeekPart struct {
	Origin string `json:"origin"`
	Amount Number `json:"amount"`
	Known  Number `json:"known_share"`
}

// WeekLimit is a limit of the whole diet.
type WeekLimit struct {
	ID       string   `json:"id"`
	Name     string   `json:"name"`
	Value    Number   `json:"value"`
	Most     Number   `json:"most"`
	Unit     string   `json:"unit"`
	Verdict  string   `json:"verdict"`
	Open     string   `json:"not_known_because,omitempty"`
	Source   string   `json:"source"`
	Evidence string   `json:"evidence"`
	Note     string   `json:"note"`
	StandIn  []string `json:"stand_in,omitempty"`
}

// WeekShortage is a figure that is low or could be.
type WeekShortage struct {
	Nutrient string `json:"nutrient"`
	Per      string `json:"per,omitempty"`
	Verdict  string `json:"verdict"`
	Open     string `json:"not_known_because,omitempty"`
	OfNeed   Number `json:"share_of_need_known_to_be_there"`
	Known    Number `json:"known_share"`
}

// WeekMend is the smallest change that mends shortages.
type WeekMend struct {
	Targets []string  `json:"targets"`
	Found   bool      `json:"found"`
	Proved  bool      `json:"proved"`
	Light   bool      `json:"fewest_grams,omitempty"`
	TooMany bool      `json:"too_many_foods,omitempty"`
	Tried   int       `json:"foods_tried"`
	Adds    []WeekAdd `json:"adds"`
	Against []string  `json:"against,omitempty"`
}

// WeekAdd is more of one food.
type WeekAdd struct {
	Food     string     `json:"food"`
	Name     string     `json:"name"`
	Grams    Number     `json:"g_a_week"`
	Uncommon bool       `json:"more_than_is_common"`
	Doses    []WeekDose `json:"doses"`
	Cautions []string   `json:"cautions,omitempty"`
}

// WeekDose is an amount with its days.
type WeekDose struct {
	Amount Number   `json:"amount"`
	Unit   string   `json:"unit"`
	Days   []string `json:"days"`
}

// WeekBowl is one record of the bowl.
type WeekBowl struct {
	Day      string     `json:"day"`
	Food     string     `json:"food"`
	OfferedG Number     `json:"offered_g"`
	EatenG   *Number    `json:"eaten_g"`
	Left     *Number    `json:"left_share"`
	Kinds    []WeekKind `json:"kinds,omitempty"`
	Figures  []WeekGot  `json:"figures,omitempty"`
}

// WeekKind is what became of one kind of a mix.
type WeekKind struct {
	Food       string `json:"food"`
	OfferedG   Number `json:"offered_g"`
	LeftG      Number `json:"left_g"`
	Electivity Number `json:"electivity"`
	Alpha      Number `json:"alpha"`
	Avoided    bool   `json:"avoided"`
}

// WeekGot sets a figure of what was eaten beside that of what was offered,
// husks left out in both.
type WeekGot struct {
	Nutrient string  `json:"nutrient"`
	Unit     string  `json:"unit"`
	Offered  *Number `json:"offered"`
	Eaten    *Number `json:"eaten"`
}

// WeekAdvice is what the records say to do.
type WeekAdvice struct {
	ID   string `json:"id"`
	Text string `json:"text"`
	Why  string `json:"why"`
	Vet  bool   `json:"see_veterinarian"`
}

// WeekTurn is a changeover from one mix to another.
type WeekTurn struct {
	Animal string      `json:"animal"`
	Days   []WeekShift `json:"days"`
}

// WeekShift is a day of a changeover.
type WeekShift struct {
	Day  string `json:"day"`
	OldG Number `json:"old_g"`
	NewG Number `json:"new_g"`
	Fed  bool   `json:"mix_given"`
}

// WeekAway is a time in which somebody else feeds.
type WeekAway struct {
	From string    `json:"from"`
	To   string    `json:"to"`
	Who  string    `json:"who"`
	Days []WeekDay `json:"days"`
}

// WeekShopping is what to buy.
type WeekShopping struct {
	From  string    `json:"from"`
	Weeks int       `json:"weeks"`
	Lines []WeekBuy `json:"lines"`
	Cost  Number    `json:"cost"`
	All   bool      `json:"cost_is_of_everything"`
}

// WeekBuy is one line of a shopping list.
type WeekBuy struct {
	Food  string  `json:"food"`
	NeedG Number  `json:"need_g"`
	HaveG Number  `json:"have_g"`
	BuyG  Number  `json:"buy_g"`
	Packs int     `json:"packs"`
	PackG Number  `json:"pack_g"`
	Cost  *Number `json:"cost"`
	Fresh bool    `json:"buy_as_needed"`
	Loose bool    `json:"amount_assumed"`
}

// WeekNote is something to know that no row says.
type WeekNote struct {
	ID       string `json:"id"`
	Text     string `json:"text"`
	Evidence string `json:"evidence"`
}
