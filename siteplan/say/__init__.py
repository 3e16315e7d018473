"""In which words is it said? Sentences and people's units for what the kernels answer in plain numbers."""
