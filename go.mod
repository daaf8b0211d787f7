module lastbeacon

go 1.26

require (
	github.com/dustin/go-humanize v1.1.0
	gonum.org/v1/gonum v0.17.0
)
