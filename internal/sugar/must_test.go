package sugar

// must returns a value whose fault would be a defect of the test.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
