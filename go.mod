module lastbeacon

go 1.26
