module firlot

go 1.26
