module consumer

go 1.26.0

require sill v0.0.0

replace sill => ../../..
