"""What is said of results: numbers in words, findings as data, sentences and tables made from them, once for every reader."""
