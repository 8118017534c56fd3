package plan

// A MeasuringSheet says what a measuring sheet is made for.
type MeasuringSheet struct {
	Study string `toml:"study"`
}

func (c *checker) sheet(*File) {}
