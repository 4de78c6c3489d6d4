"""FHIR R4 exports: resources linked to one another become the same rows that a laboratory's table has."""
