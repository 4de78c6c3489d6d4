"""HL7 v2 results (ORU^R01, 2.3 to 2.8), alone, in batch files or captured from the wire, as lines of a culture file."""
