"""Words of old records that a migration could not match with the record they name. The owner settles each."""
