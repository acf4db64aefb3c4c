"""Operations over many rows at once: Arrow record batches in, record batches out."""
