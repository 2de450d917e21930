// Package kernels makes, writes and reads the stored kernel of a hybrid: what some twenty unbroken kernels of it measure on a photo.
package kernels
