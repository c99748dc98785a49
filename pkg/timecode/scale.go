package timecode

// Scale is t·num/den, exact but for one rounding at the end; den must be above
// 0, else the result is 0.
func (t Ticks) Scale(num, den int64, round Rounding) Ticks {
	return Ticks(muldiv(int64(t), num, den, round))
}
