"""Pure sums: numbers and arrays in, numbers and arrays out."""
