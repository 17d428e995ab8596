# docker build -t shimwright .
# docker run -e SHIMWRIGHT_TOKEN=... -v shimwright:/data shimwright
FROM golang:1.26-bookworm AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN mkdir -p /out/data && bash .ci/build-static /out/shimwright

# Nothing but the program, which holds time zones and pages in itself, the
# certificates to check Discord's, and a folder for the database.
FROM scratch
COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/
COPY --from=build /out/shimwright /shimwright
COPY --from=build --chown=65532:65532 /out/data /data
ENV SHIMWRIGHT_DB=/data/shimwright.db
VOLUME /data
USER 65532:65532
ENTRYPOINT ["/shimwright"]
CMD ["serve"]
