"""How are results put into words? Sentences, in the gardener's units, for the plain numbers of the kernels."""
