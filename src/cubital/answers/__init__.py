"""One module per question: small tables in, one ``Answer`` out; no input, no output, no engine."""
