"""The compiled crossing loop, what it takes (NamedTuples of arrays), and the packing of a site into them."""
